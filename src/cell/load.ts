/** A cell file to a cell: read, parse, join, read every section, check across sections, put together. */
import type { Pose } from "../math/pose.ts";
import type { ArmDescription } from "./arm-description.ts";
import { crossCheck } from "./cross-checks.ts";
import { type Field, type Fields, may, need, quantities, readRecord } from "./form/collections.ts";
import { given, type Kind, type Reading } from "./form/kind.ts";
import { collectNames } from "./form/names.ts";
import { count, text } from "./form/scalars.ts";
import type { InputIssue, Loaded } from "./issue.ts";
import type { Cell, MotionDefaults, Tool } from "./model.ts";
import { putTogether } from "./put-together.ts";
import { type ArmReader, armKind, type ReadArm } from "./sections/arm.ts";
import { controllerKind, defaultController } from "./sections/controller.ts";
import { machinesKind, type ReadMachine } from "./sections/machines.ts";
import { partsKind } from "./sections/parts.ts";
import { posesKind } from "./sections/poses.ts";
import { defaultMotion, guardingKind, motionKind, productionKind } from "./sections/production.ts";
import { routinesKind } from "./sections/routines.ts";
import { emptyScene, sceneKind } from "./sections/scene.ts";
import { checkWiring, signalsKind } from "./sections/signals.ts";
import { noTool, toolKind } from "./sections/tool.ts";
import { type Gathered, gather } from "./text/gather.ts";
import { IssueLog } from "./text/issue-log.ts";
import { type CellSource, folderOf, resolveIn } from "./text/source.ts";
import { describe, locate, valueAt, type Written, type WrittenMap } from "./text/written.ts";
import { usageChecks } from "./usage-checks.ts";

export interface LoadOptions {
  /** Reads the text of `arm: { urdf: … }`; without it such an arm is an issue. */
  readonly readArm?: ArmReader;
}

/** Standard gravity, m/s² (3rd CGPM, 1901). */
const STANDARD_GRAVITY = 9.80665;

const gravityKind = quantities("acceleration", [3], "a vector of gravity");

/** Sections that need nothing from another section but names. */
function sectionFields(
  arm: Kind<ReadArm>,
  joints: ArmDescription["joints"] | undefined,
  byJoints: (name: string) => boolean,
) {
  return {
    cell: need(text, "the cell's name"),
    note: may(text, "free text"),
    format: may(count(1, 1), "edition of the file format, 1"),
    $schema: may(text, "address of the JSON Schema, for editors; not used"),
    include: may(anything, "further files, [signals.yaml]"),
    gravity: may(gravityKind, "vector in the world, [0, 0, -9.80665 m/s^2]"),
    arm: need(arm, "the arm"),
    controller: may(controllerKind, "points and scan time"),
    tool: may(toolKind, "what is on the flange"),
    parts: may(partsKind, "part variants by name"),
    machines: may(machinesKind, "machines by name"),
    scene: may(sceneKind, "frames, trays, nests, shapes, fence, operator places, zones"),
    signals: may(signalsKind, "signals by name"),
    poses: need(posesKind(joints, byJoints), "named poses, home among them"),
    routines: need(routinesKind(byJoints), "routines by name, main among them"),
    motion: may(motionKind, "defaults for motions"),
    production: may(productionKind, "target, shifts, batches, stops, costs"),
    guarding: may(guardingKind, "people, zones, stopping, contact surfaces"),
  } satisfies Fields;
}

/** `include` has been dealt with before; its schema is a list of file names. */
const anything: Kind<true> = {
  expected: "a list of file names",
  read: () => true,
  schema: () => ({ anyOf: [{ type: "string" }, { type: "array", items: { type: "string" } }] }),
};

/**
 * Loads a cell.
 * @param entry path of the cell file as `source` knows it; '/' separates folders. Files that it names are looked for relative to
 *   the file that names them and must lie in the entry's folder or below it
 * @returns the cell, or every issue found, in the order of the files. Never throws, whatever the texts
 */
export function loadCell(entry: string, source: CellSource, options: LoadOptions = {}): Loaded<Cell> {
  const log = new IssueLog();
  const gathered = gather(entry, source, log);
  if (gathered === undefined) return failed(log);
  const cell = readCell(gathered, source, options, log);
  return cell === undefined || log.count > 0 ? failed(log) : { ok: true, value: cell };
}

/**
 * Loads the arm of a cell, or of a file that has only `arm` and perhaps `tool`; other sections are not looked at.
 * `flangeFromTcp` is the tool's, or that of its first gripper.
 */
export function loadArm(
  entry: string,
  source: CellSource,
  options: LoadOptions = {},
): Loaded<{ readonly arm: ArmDescription; readonly flangeFromTcp?: Pose }> {
  const log = new IssueLog();
  const gathered = gather(entry, source, log);
  if (gathered === undefined) return failed(log);
  const { root } = gathered;
  const reading = readingOf(gathered, log);
  const fields = sectionFields(armKind(urdfReader(gathered, source, options)), undefined, () => true);
  const known: Fields = fields;
  for (const { key, keySpot } of root.entries)
    if (!Object.hasOwn(known, key))
      readRecord(
        { ...root, entries: [{ key, keySpot, value: root.entries[0]!.value }] },
        optional(known),
        "a cell",
        reading,
      );
  const armWritten = valueAt(root, "arm");
  if (armWritten === undefined)
    log.wrong("missing-key", root, "arm: a joint table or a URDF file", "Add the section arm.");
  const arm = armWritten && fields.arm.kind.read(armWritten, reading);
  const toolWritten = valueAt(root, "tool");
  const tool = toolWritten && toolKind.read(toolWritten, reading);
  if (arm === undefined || log.count > 0) return failed(log);
  const flangeFromTcp = tool?.tool.flangeFromTcp ?? [...(tool?.tool.grippers.values() ?? [])][0]?.flangeFromTcp;
  return { ok: true, value: given({ arm: arm.arm, flangeFromTcp }) };
}

const optional = (fields: Fields): Fields =>
  Object.fromEntries(Object.entries(fields).map(([key, field]) => [key, { ...field, kind: anything, needed: false }]));

function failed<T>(log: IssueLog): Loaded<T> {
  const issues: readonly InputIssue[] = log.list();
  return { ok: false, issues };
}

function readingOf({ root, pathOf }: Gathered, log: IssueLog): Reading {
  return {
    log,
    names: collectNames(root),
    resolveFile: (at, named) => resolveIn(folderOf(pathOf.get(at.source.name) ?? ""), named),
  };
}

function urdfReader({ folder }: Gathered, source: CellSource, { readArm }: LoadOptions) {
  return (
    at: Written,
    named: string,
    limits: { base?: string; tip?: string },
    reading: Reading,
  ): ArmDescription | undefined => {
    const path = reading.resolveFile(at, named.trim());
    if (path === undefined)
      return reading.log.wrong(
        "outside",
        at,
        "a file in the folder of the cell or below it",
        "Name it relative to this file, with '/' between folders.",
      );
    if (readArm === undefined)
      return reading.log.wrong(
        "no-urdf-reader",
        at,
        "a joint table",
        "URDF files are not read here: write dh and joints instead.",
      );
    const file = `${folder}${path}`;
    const got = source.read(file);
    if ("problem" in got)
      return reading.log.report(
        got.problem === "missing" ? "missing-file" : "unreadable-file",
        at,
        `${describe(at)} (${got.problem === "missing" ? "no such file" : got.detail})`,
        "a URDF file that can be read",
        "Check the name and the folder.",
      );
    const read = readArm(got.text, file, limits);
    if (read.ok) return read.value;
    for (const issue of read.issues) reading.log.foreign(issue);
    return undefined;
  };
}

function readCell(gathered: Gathered, source: CellSource, options: LoadOptions, log: IssueLog): Cell | undefined {
  const { root } = gathered;
  const reading = readingOf(gathered, log);
  const poses = valueAt(root, "poses");
  const byJoints = (name: string) => valueAt(valueAt(poses, name), "joints") !== undefined;
  const section = <T>(field: Field<T>, key: string, within: Reading = reading): T | undefined => {
    const written = valueAt(root, key);
    return written === undefined ? undefined : field.kind.read(written, within);
  };

  const early = sectionFields(armKind(urdfReader(gathered, source, options)), undefined, byJoints);
  const all: Fields = early;
  readRecord(
    root,
    Object.fromEntries(
      Object.entries(all).map(([key, field]) => [
        key,
        { ...field, kind: { ...field.kind, expected: field.kind.expected, read: () => true } },
      ]),
    ),
    "a cell",
    reading,
  );

  const name = section(early.cell, "cell");
  section(early.note, "note");
  section(early.format, "format");
  section(early.$schema, "$schema");
  const gravity = section(early.gravity, "gravity");
  const arm = section(early.arm, "arm");
  const fields = sectionFields(early.arm.kind, arm?.arm.joints, byJoints);
  const controller = section(fields.controller, "controller");
  const before = log.count;
  const tool = section(fields.tool, "tool") ?? (valueAt(root, "tool") ? undefined : noTool);
  const machines = section(fields.machines, "machines") ?? new Map<string, ReadMachine>();
  const machinesFine = log.count === before;
  const parts = section(fields.parts, "parts") ?? new Map();
  const scene = section(fields.scene, "scene") ?? emptyScene;
  const signals = section(fields.signals, "signals") ?? new Map();
  const readPoses = section(fields.poses, "poses");
  const widths = machinesFine && tool ? { pulseWidths: pulseWidthsOf(machines, tool.tool) } : {};
  const routines = section(fields.routines, "routines", { ...reading, ...widths });
  const motion: MotionDefaults = section(fields.motion, "motion") ?? defaultMotion;
  const production = section(fields.production, "production");
  const guarding = section(fields.guarding, "guarding");

  crossCheck(root, reading);
  if (controller || valueAt(root, "controller") === undefined)
    checkWiring(signals, controller ?? defaultController, reading);
  checkEntries(root, reading);
  if (log.count === 0) usageChecks({ parts, machines, scene, routines: routines!, root }, reading);
  if (log.count > 0) return undefined;

  return putTogether({
    name: name!,
    gravity: (gravity as readonly [number, number, number] | undefined) ?? [0, 0, -STANDARD_GRAVITY],
    arm: arm!,
    controller: controller ?? defaultController,
    tool: tool!.tool,
    parts,
    machines,
    scene,
    signals: new Map([...signals].map(([key, { signal }]) => [key, signal])),
    poses: readPoses!,
    routines: routines!,
    motion,
    production,
    guarding,
    locate: (path) => locate(root, path),
  });
}

/** Least pulse width for every output that a device or process wants pulsed. */
function pulseWidthsOf(machines: ReadonlyMap<string, ReadMachine>, tool: Tool): ReadonlyMap<string, number> {
  const out = new Map<string, number>();
  const commands = [
    ...[...tool.grippers.values()].map(({ device }) => device.command),
    ...[...machines.values()].flatMap((machine) => [...machine.devices.values()].map(({ device }) => device.command)),
  ];
  for (const command of commands) {
    if (command.style === "toggling pulse") out.set(command.signal, command.width);
    if (command.style === "pulse") for (const signal of command.signals.values()) out.set(signal, command.width);
  }
  for (const machine of machines.values())
    for (const { process } of machine.processes.values())
      if (process.start.style === "pulse") out.set(process.start.signal, process.start.width);
  return out;
}

/** `main` and `home`, which every cell has. */
function checkEntries(root: WrittenMap, reading: Reading): void {
  const routines = valueAt(root, "routines");
  if (routines?.kind === "map" && routines.entries.length > 0 && !reading.names.of.routine.has("main"))
    reading.log.wrong("missing-routine", routines, "a routine main", "Name the routine that production runs main.");
  const poses = valueAt(root, "poses");
  if (poses?.kind !== "map" || poses.entries.length === 0) return;
  const home = valueAt(poses, "home");
  if (home === undefined)
    reading.log.wrong(
      "missing-pose",
      poses,
      "a pose home, given by joints",
      "Add home: { joints: […] }: the arm starts there.",
    );
  else if (home.kind === "map" && valueAt(home, "joints") === undefined)
    reading.log.wrong("bad-home", home, "a pose given by joints", "Give home by joints: the arm starts there.");
}

/** JSON Schema of one cell file and everything in it. */
export function cellFields(): Fields {
  return sectionFields(
    armKind(() => undefined),
    undefined,
    () => true,
  );
}
