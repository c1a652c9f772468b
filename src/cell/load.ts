/** A cell file to a cell: read, parse, join, read every section, check across sections, put together. */
import type { Pose } from "../math/pose.ts";
import type { ArmDescription } from "./arm-description.ts";
import { crossCheck } from "./cross-checks.ts";
import { given, type Kind, type Reading } from "./form/kind.ts";
import { quantities } from "./form/lists.ts";
import { collectNames, type Names } from "./form/names.ts";
import { type Field, type Fields, may, need, readRecord } from "./form/records.ts";
import { count, text } from "./form/scalars.ts";
import type { InputIssue, Loaded } from "./issue.ts";
import type { Cell, MotionDefaults, Tool } from "./model.ts";
import { putTogether } from "./put-together.ts";
import { type ArmReader, armSection } from "./sections/arm.ts";
import { controllerKind, defaultController } from "./sections/controller.ts";
import { guardingKind } from "./sections/guarding.ts";
import { handlingKind } from "./sections/handling.ts";
import { machinesKind, type ReadMachine } from "./sections/machines.ts";
import { partsKind } from "./sections/parts.ts";
import { posesKind } from "./sections/poses.ts";
import { defaultMotion, motionKind, productionKind } from "./sections/production.ts";
import { routinesKind } from "./sections/routines.ts";
import { rulesKind } from "./sections/rules.ts";
import { emptyScene, sceneKind } from "./sections/scene.ts";
import { checkWiring, signalsKind } from "./sections/signals.ts";
import { noTool, toolKind } from "./sections/tool.ts";
import type { Shape } from "./shapes.ts";
import { type Gathered, gather } from "./text/gather.ts";
import { IssueLog } from "./text/issue-log.ts";
import { type CellSource, folderOf, resolveIn } from "./text/source.ts";
import { describe, locate, printable, valueAt, type WrittenMap } from "./text/written.ts";
import { usageChecks } from "./usage-checks.ts";

export interface LoadOptions {
  /** Reads the text of `arm: { urdf: … }`; without it such an arm is an issue. */
  readonly readArm?: ArmReader;
}

/** Standard gravity, m/s² (3rd CGPM, 1901). */
const STANDARD_GRAVITY = 9.80665;

const gravityKind = quantities("acceleration", [3], "a vector of gravity");

/** `include` has been dealt with before; its schema is a list of file names. */
const anything: Kind<true> = {
  expected: "a list of file names",
  read: () => true,
  schema: () => ({ anyOf: [{ type: "string" }, { type: "array", items: { type: "string" } }] }),
};

/** Every section of a cell file. */
const sections = {
  cell: need(text, "the cell's name"),
  note: may(text, "free text"),
  format: may(count(1, 1), "edition of the file format, 1"),
  $schema: may(text, "address of the JSON Schema, for editors; not used"),
  include: may(anything, "further files, [signals.yaml]"),
  gravity: may(gravityKind, "vector in the world, [0, 0, -9.80665 m/s^2]"),
  arm: need(armSection, "the arm"),
  controller: may(controllerKind, "points and scan time"),
  tool: may(toolKind, "what is on the flange"),
  parts: may(partsKind, "part variants by name"),
  machines: may(machinesKind, "machines by name"),
  scene: may(sceneKind, "frames, trays, nests, shapes, fence, operator places, zones"),
  signals: may(signalsKind, "signals by name"),
  poses: need(posesKind, "named poses, home among them"),
  routines: need(routinesKind, "routines by name, main among them"),
  motion: may(motionKind, "defaults for motions"),
  production: may(productionKind, "target, shifts, batches, stops, costs"),
  guarding: may(guardingKind, "people, zones, stopping, contact surfaces, safety functions, hazards"),
  handling: may(handlingKind, "safety factor of grips, deviations, fits"),
  rules: may(rulesKind, "what must never be so and what must always follow, by name"),
} satisfies Fields;

/** The same keys with nothing looked at inside: finds unknown and missing sections. */
const sectionNames: Fields = Object.fromEntries(
  Object.entries(sections as Fields).map(([key, field]) => [
    key,
    { ...field, kind: { expected: field.kind.expected, read: () => true, schema: () => ({}) } },
  ]),
);

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
 * Without a scene or signals of its own such a file may name a mounting frame and gripper signals freely.
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
  const whole = readingOf(gathered, source, options, log);
  const reading: Reading = { ...whole, names: aloneNames(whole.names, root) };
  readRecord(root, optional(sectionNames), "a cell", reading);
  const armWritten = valueAt(root, "arm");
  if (armWritten === undefined)
    log.wrong("missing-key", root, "arm: a joint table or a URDF file", "Add the section arm.");
  const arm = armWritten && armSection.read(armWritten, reading);
  const toolWritten = valueAt(root, "tool");
  const tool = toolWritten && toolKind.read(toolWritten, reading);
  if (arm === undefined || log.count > 0) return failed(log);
  const flangeFromTcp = tool?.tool.flangeFromTcp ?? [...(tool?.tool.grippers.values() ?? [])][0]?.flangeFromTcp;
  return { ok: true, value: given({ arm: arm.arm, flangeFromTcp }) };
}

/** An arm file need not declare the frame its arm is mounted in, nor the signals of its gripper. */
function aloneNames(names: Names, root: WrittenMap): Names {
  return {
    ...names,
    of: {
      ...names.of,
      ...(valueAt(root, "scene") ? {} : { frame: new AnyName() }),
      ...(valueAt(root, "signals") ? {} : { signal: new AnyName() }),
    },
  };
}

class AnyName extends Set<string> {
  override has(): boolean {
    return true;
  }
}

const optional = (fields: Fields): Fields =>
  Object.fromEntries(Object.entries(fields).map(([key, field]) => [key, { ...field, needed: false }]));

function failed<T>(log: IssueLog): Loaded<T> {
  const issues: readonly InputIssue[] = log.list();
  return { ok: false, issues };
}

function readingOf(
  { root, pathOf, folder }: Gathered,
  source: CellSource,
  { readArm }: LoadOptions,
  log: IssueLog,
): Reading {
  const resolveFile: Reading["resolveFile"] = (at, named) =>
    resolveIn(folderOf(pathOf.get(at.source.name) ?? ""), named);
  return {
    log,
    names: collectNames(root),
    resolveFile,
    readUrdf(at, named, options) {
      const path = resolveFile(at, named.trim());
      if (path === undefined)
        return log.wrong(
          "outside",
          at,
          "a file in the folder of the cell or below it",
          "Name it relative to this file, with '/' between folders.",
        );
      if (readArm === undefined)
        return log.wrong(
          "no-urdf-reader",
          at,
          "a joint table",
          "URDF files are not read here: write dh and joints instead.",
        );
      const file = `${folder}${path}`;
      const got = source.read(file);
      if ("problem" in got) {
        const missing = got.problem === "missing";
        const found = `${describe(at)} (${missing ? "no such file" : printable(got.detail, 80)})`;
        return log.report(
          missing ? "missing-file" : "unreadable-file",
          at,
          found,
          "a URDF file that can be read",
          "Check the name and the folder.",
        );
      }
      const read = readArm(got.text, file, options);
      if (read.ok) return withMeshesFrom(folderOf(path), read.value);
      for (const issue of read.issues) {
        // What the cell file chose stands in the cell file, not in the URDF file.
        if (issue.path === "base" || issue.path === "tip")
          log.report(issue.code, at, `${issue.path} ${issue.found}`, issue.expected, issue.mend);
        else log.foreign(issue);
      }
      return undefined;
    },
  };
}

/** Mesh files that a URDF file in `folder` names, by their path in the cell's folder; names that lead elsewhere stay as they are. */
function withMeshesFrom(folder: string, arm: ArmDescription): ArmDescription {
  const named = (shape: Shape): Shape =>
    shape.kind === "mesh" ? { ...shape, file: resolveIn(folder, shape.file) ?? shape.file } : shape;
  const links = arm.links.map((link) => ({
    ...link,
    shapes: link.shapes.map((placed) => ({ ...placed, shape: named(placed.shape) })),
  }));
  return { ...arm, links };
}

function readCell(gathered: Gathered, source: CellSource, options: LoadOptions, log: IssueLog): Cell | undefined {
  const { root } = gathered;
  const reading = readingOf(gathered, source, options, log);
  const section = <T>(field: Field<T>, key: string, within: Reading = reading): T | undefined => {
    const written = valueAt(root, key);
    return written === undefined ? undefined : field.kind.read(written, within);
  };

  readRecord(root, sectionNames, "a cell", reading);
  const name = section(sections.cell, "cell");
  section(sections.note, "note");
  section(sections.format, "format");
  section(sections.$schema, "$schema");
  const gravity = section(sections.gravity, "gravity");
  const arm = section(sections.arm, "arm");
  if (arm) checkSpeeds(arm.arm, root, reading);
  const controller = section(sections.controller, "controller");
  const before = log.count;
  const tool = section(sections.tool, "tool") ?? (valueAt(root, "tool") ? undefined : noTool);
  const machines = section(sections.machines, "machines") ?? new Map<string, ReadMachine>();
  const machinesFine = log.count === before;
  const parts = section(sections.parts, "parts") ?? new Map();
  const scene = section(sections.scene, "scene") ?? emptyScene;
  const signals = section(sections.signals, "signals") ?? new Map();
  const readPoses = section(sections.poses, "poses", arm ? { ...reading, joints: arm.arm.joints } : reading);
  const widths = machinesFine && tool ? { pulseWidths: pulseWidthsOf(machines, tool.tool) } : {};
  const routines = section(sections.routines, "routines", { ...reading, ...widths });
  const motion: MotionDefaults = section(sections.motion, "motion") ?? defaultMotion;
  const production = section(sections.production, "production");
  const guarding = section(sections.guarding, "guarding");
  const handling = section(sections.handling, "handling");
  const rules = section(sections.rules, "rules") ?? [];

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
    handling,
    rules,
    locate: (path) => locate(root, path),
  });
}

/** Without a speed limit no motion takes time. */
function checkSpeeds(arm: ArmDescription, root: WrittenMap, reading: Reading): void {
  const written = valueAt(root, "arm")!;
  const rows = valueAt(written, "joints");
  arm.joints.forEach(({ name, velocity }, i) => {
    if (Number.isFinite(velocity)) return;
    const spot = rows?.kind === "list" ? rows.items[i]! : written;
    const mend = rows ? "Add speed, such as 180 deg/s." : `Add it under limits: { ${name}: { speed: 180 deg/s } }.`;
    reading.log.add("missing-key", spot, `${name} without speed`, "a speed limit for every joint", mend);
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

/** Every key of a cell file, for the schema. */
export const cellFields: Fields = sections;
