/** The wiring as text for people: points, schedule, remote stations, currents, pulses and findings. */
import type { WiringDocument } from "../check/index.ts";
import { counted, fixed, NONE } from "../dossier/figures.ts";
import { SHORT_KINDS, type WiringSurvey } from "../wiring/index.ts";
import { findingLines, heading } from "./check-text.ts";
import { colorsFor, type Layout } from "./terminal.ts";
import { type Column, clean, paragraph, table } from "./text.ts";

const mA = (value: number | null): string => (value === null ? NONE : fixed(value * 1000, 0));

/** Lines ending in newlines. */
export function wireText(survey: WiringSurvey, document: WiringDocument, layout: Layout): string {
  const colors = colorsFor(layout);
  const lines: string[] = [];
  const section = (title: string, columns: readonly Column[], rows: readonly (readonly string[])[]) => {
    if (rows.length === 0) return;
    const [head = "", ...rest] = table(columns, rows, layout.width, layout.ascii);
    lines.push(heading(title, colors), colors.dim(head), ...rest, "");
  };
  const left = (title: string, more: Partial<Column> = {}): Column => ({ title, align: "left", ...more });
  const right = (title: string, more: Partial<Column> = {}): Column => ({ title, align: "right", ...more });

  const use = ([used, available]: readonly [number, number]) => `${used} of ${available}`;
  lines.push(colors.bold(clean(document.cell)), "");
  section(
    "Points used",
    [left("port"), right("DI"), right("DO"), right("AI"), right("AO")],
    survey.ports.map((port) => [
      clean(port.name),
      use(port.digitalInputs),
      use(port.digitalOutputs),
      use(port.analogueInputs),
      use(port.analogueOutputs),
    ]),
  );
  section(
    "Terminals",
    [
      left("terminal"),
      left("port"),
      left("point"),
      left("signal", { atLeast: 24 }),
      left("how", { dropped: 4 }),
      left("connects", { atLeast: 26 }),
      left("device", { dropped: 2 }),
      left("type", { dropped: 3 }),
      right("mA", { dropped: 1 }),
      left("note", { atLeast: 8, dropped: 5 }),
    ],
    survey.schedule.map((row) => [
      row.terminal || NONE,
      clean(row.port) || NONE,
      row.point === null ? SHORT_KINDS[row.kind] : `${SHORT_KINDS[row.kind]} ${row.point}`,
      clean(row.signal),
      row.how,
      clean(row.connects) || NONE,
      row.device || NONE,
      [row.contact, row.polarity, row.coupling].filter((word) => word !== "").join(", ") || NONE,
      mA(row.current),
      clean(row.note),
    ]),
  );
  for (const station of survey.stations) {
    const host = station.host === null ? "" : ` at ${station.host}`;
    section(
      `Remote station ${clean(station.station)}, unit ${station.unit}${clean(host)}${station.proposed ? " (proposed)" : ""}`,
      [
        left("signal", { atLeast: 10 }),
        left("point"),
        left("table"),
        right("address"),
        right("number"),
        right("reference", { dropped: 3 }),
        left("read"),
        left("write"),
        left("byte.bit", { dropped: 1 }),
      ],
      station.entries.map((entry) => [
        clean(entry.signal),
        `${SHORT_KINDS[entry.kind]} ${entry.point}`,
        entry.table,
        entry.address === null ? NONE : String(entry.address),
        entry.number === null ? NONE : String(entry.number),
        entry.reference ?? NONE,
        `FC ${entry.readCode}`,
        entry.writeCodes.length === 0 ? NONE : `FC ${entry.writeCodes.join(", ")}`,
        entry.bit === null ? NONE : `${entry.bit.byte}.${entry.bit.bit}`,
      ]),
    );
    for (const { code, address, quantity, request } of station.transfers) {
      lines.pop();
      const bytes = request?.map((byte) => byte.toString(16).toUpperCase().padStart(2, "0")).join(" ");
      const what = `${request === undefined ? "write" : "read"} with FC ${code}: ${quantity} from address ${address}`;
      lines.push(bytes === undefined ? what : `${what}, request ${bytes}`, "");
    }
  }
  section(
    "Currents, mA",
    [left("of"), right("all on"), right("at a time"), right("allowed"), left("not stated", { atLeast: 12 })],
    [
      ...survey.groups.map((group) => ({ ...group, of: `${group.port} DO ${group.from} to ${group.to}` })),
      ...survey.supplies.map((supply) => ({ ...supply, of: `supply ${supply.supply}` })),
    ].map((sum) => [
      clean(sum.of),
      mA(sum.all),
      mA(sum.atOnce),
      mA(sum.limit),
      sum.unknown.length === 0 ? "" : clean(sum.unknown.join(", ")),
    ]),
  );
  section(
    "Cables",
    [left("signal", { atLeast: 10 }), right("both wires, Ω"), right("left at the load, V")],
    survey.cables.map((cable) => [
      clean(cable.signal),
      fixed(cable.resistance, 2),
      cable.left === null ? NONE : fixed(cable.left, 2),
    ]),
  );
  section(
    "Pulses, ms",
    [
      left("signal", { atLeast: 10 }),
      left("way"),
      right("width"),
      right("needed"),
      left("seen"),
      left("not stated", { atLeast: 12 }),
    ],
    survey.pulses.map(({ signal, direction, width, sure, needed, verdict, missing }) => [
      clean(signal),
      direction,
      fixed((sure ?? width) * 1000, 1),
      needed === null ? NONE : fixed(needed * 1000, 1),
      verdict === "seen" ? "surely" : verdict,
      clean(missing.join(", ")),
    ]),
  );
  const { unplaced } = survey.assignment;
  if (unplaced.length > 0)
    lines.push(
      ...paragraph(
        clean(`${counted(unplaced.length, "signal")} without a point: ${unplaced.join(", ")}`),
        layout.width,
        "",
        "  ",
      ),
      "",
    );
  if (document.findings.length === 0) lines.push("No findings.");
  lines.push(...findingLines(document.findings, colors, layout));
  while (lines.at(-1) === "") lines.pop();
  return `${lines.join("\n")}\n`;
}
