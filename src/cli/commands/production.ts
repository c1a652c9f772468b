/** `millhand cycle` with days, money or alternatives: what the cell makes and what it is worth, as text or JSON. */
import { buildArm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import {
  type Alternative,
  type AlternativeRow,
  alternativeRow,
  createMover,
  type ProductionReport,
  productionReport,
  runVariants,
  SCHEMA_VERSION,
  variantsOf,
  variedCell,
} from "../../check/index.ts";
import { renderTornadoSvg } from "../../dossier/index.ts";
import { loadCellFile } from "../cell-file.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import type { Job, JobResult, ProductionWishes } from "../job.ts";
import type { Progress } from "../job-thread.ts";
import { moneyFigure, productionText } from "../production-text.ts";

interface Looked {
  readonly row: AlternativeRow;
  readonly report: ProductionReport | null;
}

/** @throws UnusableInput for files and variations that cannot be used */
export async function production(
  job: Extract<Job, { kind: "cycle" }>,
  wishes: ProductionWishes,
  cell: Cell,
  variant: string,
  progress: Progress,
): Promise<JobResult> {
  const alternatives: Alternative[] = [
    { name: cell.name, cell },
    ...wishes.compare.map((file) => {
      const other = loadCellFile(file);
      return { name: other.name === cell.name ? file : other.name, cell: other };
    }),
    ...wishes.vary.map((text) => {
      const varied = variedCell(cell, text);
      if (!varied.ok) throw new UnusableInput(`--vary: ${varied.message}`);
      return varied.value;
    }),
  ];
  const looked = alternatives.map((alternative, i) =>
    look(alternative, variant, wishes, i === 0, (share, doing) => progress((i + share) / alternatives.length, doing)),
  );
  const { report } = looked[0]!;
  const rows = looked.length > 1 ? looked.map(({ row }) => row) : null;
  const currency = report?.money?.currency ?? "";
  const stdout = job.json
    ? `${JSON.stringify({ schemaVersion: SCHEMA_VERSION, cell: cell.name, variant, production: report, alternatives: rows }, null, 2)}\n`
    : productionText(cell.name, variant, report, rows, wishes, job.layout);
  const bars = report?.money?.tornado[wishes.tornado] ?? null;
  const wanted = job.picture !== undefined;
  const outcome = wishes.tornado === "npv" ? "net present value" : "cost per good part";
  const drawn =
    wanted && bars !== null
      ? renderTornadoSvg(bars, {
          title: `${cell.name}: what matters for the ${outcome}`,
          axis: currency === "" ? outcome : `${outcome}, ${currency}`,
          figure: (value) => moneyFigure(value, wishes.tornado),
        })
      : undefined;
  const picture = drawn !== undefined && job.picture === "png" ? await (await import("../png.ts")).pngOf(drawn) : drawn;
  const stderr = wanted && bars === null ? `millhand: no tornado is drawn, as the ${outcome} is not known\n` : "";
  return {
    status: looked.every(({ report: r }) => r !== null) ? ExitStatus.done : ExitStatus.findings,
    stdout,
    stderr,
    ...(picture !== undefined && { picture }),
  };
}

function look(
  { name, cell, filling }: Alternative,
  wantedVariant: string,
  wishes: ProductionWishes,
  first: boolean,
  progress: Progress,
): Looked {
  // Another cell file may make the part under another name: then its own first part speaks for it.
  const variant = cell.parts.has(wantedVariant) ? wantedVariant : variantsOf(cell)[0];
  if (variant === undefined) return { row: alternativeRow(name, cell, "", null), report: null };
  const runs = runVariants(cell, createMover(cell, buildArm(cell.arm)), [variant], () => false, progress);
  const timed = runs?.get(variant);
  const { days, replications, seed } = wishes;
  const report =
    timed === undefined
      ? null
      : productionReport(cell, timed, {
          days,
          replications,
          seed,
          machines: first && wishes.showDays,
          ...(filling !== undefined && { filling }),
        });
  return { row: alternativeRow(name, cell, variant, report), report };
}
