/** `millhand plan`: routes between joint values of the cell's arm through its scene, JSON Lines in and out. */
import { type CellPlanner, createCellPlanner, type PlannedRoute } from "../../check/route/cell-planner.ts";
import { placeWays } from "../../check/route/place-ways.ts";
import { loadCellFile } from "../cell-file.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import type { LineProblem, LineWork } from "../json-lines.ts";
import { answerLines } from "../line-command.ts";
import { describe, readNumbers } from "../line-values.ts";
import { loadMeshFiles } from "../mesh-files.ts";
import { retreatDocument, retreatText } from "../retreat-text.ts";
import { meshNotes } from "./clearance.ts";

export interface RetreatOptions {
  readonly cell: string;
  readonly holder: string;
  /** m; undefined: that of the cell. */
  readonly margin: number | undefined;
  /** Part that is run; undefined: the first. */
  readonly variant: string | undefined;
  readonly asDocument: boolean;
}

/** Writes straight ways out of a place. @throws UnusableInput when the cell cannot be read or the routine does nothing there */
export async function retreat(options: RetreatOptions): Promise<ExitStatus> {
  const { holder, margin, variant: wanted } = options;
  const cell = loadCellFile(options.cell);
  const meshes = await loadMeshFiles(cell, options.cell);
  const expected = (option: string, found: string, names: Iterable<string>) =>
    new UnusableInput(`${options.cell}: ${option}: found ${found}; expected one of ${[...names].join(", ")}`);
  if (!cell.holders.has(holder)) throw expected("--retreat-from", holder, cell.holders.keys());
  const variant = wanted ?? [...cell.parts.keys()][0];
  if (variant === undefined)
    throw new UnusableInput(`${options.cell}: the cell has no parts, so nothing is brought anywhere`);
  if (!cell.parts.has(variant)) throw expected("--variant", variant, cell.parts.keys());
  const ways = placeWays(cell, { holder, variant, meshes, ...(margin !== undefined && { margin }) });
  if (ways.length === 0)
    throw new UnusableInput(
      `${options.cell}: run with ${variant}, the routine comes to no hold or free at ${holder}; check the cell first`,
    );
  process.stdout.write(
    options.asDocument
      ? `${JSON.stringify(retreatDocument(holder, ways), null, 2)}\n`
      : retreatText(cell, holder, ways),
  );
  return ExitStatus.done;
}

export interface PlanOptions {
  readonly cell: string;
  /** m, at least 0. */
  readonly margin: number;
  /** Most states looked at for one route. */
  readonly states: number;
  readonly asDocument: boolean;
}

/** Answers every line of the standard input. @throws UnusableInput when the cell cannot be read, has nothing to compare or states too few limits */
export async function plan(options: PlanOptions): Promise<ExitStatus> {
  const cell = loadCellFile(options.cell);
  const meshes = await loadMeshFiles(cell, options.cell);
  const missing = cell.arm.joints.filter((joint) => !(joint.velocity < Infinity && joint.acceleration < Infinity));
  if (missing.length > 0)
    throw new UnusableInput(
      `${options.cell}: a velocity and an acceleration limit are needed for every joint to time motions; missing for ${missing.map(({ name }) => name).join(", ")}`,
    );
  const planner = createCellPlanner(cell, { margin: options.margin, states: options.states, meshes });
  if (planner.pairs === 0) throw new UnusableInput(`${options.cell}: the cell states no two shapes that could meet`);
  const { n } = planner.arm;
  const shape = `joint values of ${n} joints, rad`;
  const { grave, small } = meshNotes(cell, meshes);
  const messages = [...leftOut(planner), ...grave];
  const told = messages.length === 0 ? "" : `,"messages":${JSON.stringify(messages)}`;
  const start = new Float64Array(n);
  const goal = new Float64Array(n);
  const work: LineWork = (record) => {
    const problem = readNumbers(record, "start", start, shape) ?? readNumbers(record, "goal", goal, shape);
    if (problem !== undefined) return problem;
    const seed = seedOf(record);
    if (typeof seed !== "number") return seed;
    return `${answerOf(planner.plan(start.slice(), goal.slice(), seed))}${told}`;
  };
  const notes = [...messages, ...small];
  return answerLines(work, options.asDocument, notes.length === 0 ? undefined : notes.join("\nmillhand: "));
}

function leftOut({ builder }: CellPlanner): string[] {
  return [
    ...builder.elements.meshes.map((name) => `not considered: ${name}, whose mesh file is not read`),
    ...builder.alwaysOverlap.map(([a, b]) => `not considered: ${a} with ${b}, which overlap in every state`),
  ];
}

function seedOf({ seed = 1 }: Readonly<Record<string, unknown>>): number | LineProblem {
  if (typeof seed === "number" && Number.isSafeInteger(seed)) return seed;
  return { found: `seed: ${describe(seed)}`, expected: "a whole number, or none" };
}

function answerOf(route: PlannedRoute): string {
  if (route.ok) {
    const { path, length, motion, clearance, states } = route;
    const corners = path.map((q) => `[${q.join(",")}]`).join(",");
    return `"found":true,"path":[${corners}],"length_rad":${length},"time_s":${motion.duration},"clearance_m":${clearance ?? null},"states":${states}`;
  }
  const { reason, message, pair, states } = route;
  const told = pair === undefined ? "" : `,"pair":${JSON.stringify(pair)}`;
  return `"found":false,"path":[],"length_rad":null,"time_s":null,"reason":${JSON.stringify(reason)},"proven":${isProven(reason)},"message":${JSON.stringify(message.replace(/^goal 1:/, "goal:"))}${told},"states":${states}`;
}

/** Whether there is none, and not merely none found. */
const isProven = (reason: Extract<PlannedRoute, { ok: false }>["reason"]): boolean =>
  ["no way", "start outside limits", "goal outside limits", "start not clear", "goal not clear"].includes(reason);
