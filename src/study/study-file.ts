/**
 * The study file: what to vary over a cell, how to sample it, what to compare by. YAML or JSON, read with the kinds and the
 * messages of the cell file; see docs/reference/study-file.md.
 */

import { listOf, mapBy } from "../cell/form/collections.ts";
import type { Kind, Reading } from "../cell/form/kind.ts";
import { readLike } from "../cell/form/lists.ts";
import { missingName } from "../cell/form/names.ts";
import { type Measure, measures } from "../cell/form/quantity.ts";
import { type Fields, may, need, record } from "../cell/form/records.ts";
import { count, quantity, text, word } from "../cell/form/scalars.ts";
import type { Loaded } from "../cell/issue.ts";
import type { Cell, Holder } from "../cell/model.ts";
import { ORDERS } from "../cell/sections/scene.ts";
import { IssueLog } from "../cell/text/issue-log.ts";
import { parseText } from "../cell/text/parse-text.ts";
import { printable, type Written, type WrittenMap } from "../cell/text/written.ts";
import { type Axis, type Change, evenSteps, MOST_AXES, type Sampling, sampleCount } from "./axes.ts";
import { OBJECTIVES, type Objective, type Study, USUAL_OBJECTIVES } from "./study.ts";

/** Most layouts of one study. */
export const MOST_LAYOUTS = 1_000_000;
const MOST_VALUES = 10_000;
/** Layouts of the front that are checked in full unless the study says otherwise. */
export const DEFAULT_CHECKS = 3;

interface Spread {
  readonly values: readonly number[];
  readonly continuous: boolean;
}

/** Values along an axis: a list of quantities, { from, to, count }, or "-200 to 200 mm, 21". */
function spread(name: "length" | "angle"): Kind<Spread> {
  const measure: Measure = measures[name];
  const unit = measure.units[0]!;
  const expected = `${measure.name} to add, as "-200 to 200 ${unit}, 21", { from, to, count } or a list`;
  const ends = record(`a range`, {
    from: need(quantity(name), "least value"),
    to: need(quantity(name), "largest value"),
    count: need(count(2, MOST_VALUES), "number of values"),
  });
  const between = (from: number, to: number, steps: number, at: Written, reading: Reading): Spread | undefined => {
    if (!(from < to))
      return reading.log.wrong("range-order", at, "the smaller value first", "Swap the two values, or correct them.");
    return { values: evenSteps(from, to, steps), continuous: true };
  };
  return {
    expected,
    read(at, reading) {
      if (at.kind === "map") {
        const read = ends.read(at, reading);
        return read && between(read.from, read.to, read.count, at, reading);
      }
      if (at.kind === "list") {
        if (at.items.length === 0 || at.items.length > MOST_VALUES)
          return reading.log.wrong("wrong-length", at, `1 to ${MOST_VALUES} values`, "Add or remove values.");
        const values = readLike(at.items, measure, `${measure.name} such as ${measure.sample}`, reading);
        if (values === undefined) return undefined;
        const twice = values.findIndex((value, i) => values.indexOf(value) < i);
        if (twice >= 0)
          return reading.log.wrong("duplicate-value", at.items[twice]!, "different values", "Leave this one out.");
        return { values, continuous: false };
      }
      const short = /^(.*) to (.*), *(\S+)$/.exec(at.text.trim());
      if (short === null)
        return reading.log.wrong("wrong-type", at, expected, `Write it as "-200 to 200 ${unit}, 21": from, to, count.`);
      const part = (piece: string): Written => ({ ...at, text: piece.trim(), quoted: false });
      const range = readLike(
        [part(short[1]!), part(short[2]!)],
        measure,
        `${measure.name} such as ${measure.sample}`,
        reading,
      );
      const steps = count(2, MOST_VALUES).read(part(short[3]!), reading);
      return range === undefined || steps === undefined ? undefined : between(range[0]!, range[1]!, steps, at, reading);
    },
    schema: (parts) => ({
      anyOf: [
        ends.schema(parts),
        { type: "array", items: { type: ["string", "number"] }, minItems: 1 },
        { type: "string", pattern: "^.* to .*, *[0-9]+$" },
      ],
      description: expected,
    }),
  };
}

const length = spread("length");
const angle = spread("angle");

const baseFields = {
  x: may(length, "moves along x of the world"),
  y: may(length, "moves along y of the world"),
  height: may(length, "moves up (negative: down), the stand growing with it"),
  turn: may(angle, "turns about the vertical through the base's origin"),
};

/** What is read of a study before its axes are put in a row. */
interface ReadAxis {
  readonly name: string;
  readonly change: Change;
  readonly spread?: Spread;
  readonly words?: readonly string[];
}

/** Kinds whose names are those of a cell. */
function kindsOf(cell: Cell) {
  const one = (thing: string, known: readonly string[]): Kind<string> => ({
    expected: `the name of a ${thing}`,
    read(at, reading) {
      const name = at.kind === "scalar" ? at.text.trim() : "";
      if (known.includes(name)) return name;
      return at.kind === "scalar"
        ? missingName(reading, at, thing, name, known)
        : reading.log.wrong("wrong-type", at, `the name of a ${thing}`, "Write one name.");
    },
    schema: () => ({ type: "string", description: `the name of a ${thing}` }),
  });
  const by = <T>(what: string, thing: string, known: readonly string[], item: Kind<T>) =>
    mapBy(what, (at, _name, reading) => one(thing, known).read(at, reading), item);
  const choices = (thing: string, known: readonly string[]) =>
    listOf(`${thing}s to choose from`, one(thing, known), 1, 64);

  const movable = [...cell.holders.values()].filter(({ kind }) => kind !== "device").map(({ name }) => name);
  const grippers = [...cell.tool.grippers.keys()];
  const tray = record("a tray's place", {
    x: may(length, "moves along x of the world"),
    y: may(length, "moves along y of the world"),
    turn: may(angle, "turns about the vertical through the tray's origin"),
    order: may(listOf("orders", word(ORDERS), 1, ORDERS.length), "orders in which it is served"),
  });
  const tcp = record("a tool centre point", {
    x: may(length, "along its own x"),
    y: may(length, "along its own y"),
    z: may(length, "along its own z"),
  });
  const gripChoices: Kind<readonly string[]> = listOf("grips to choose from", text, 1, 64);
  const vary = {
    base: may(record("the base's place", baseFields), "the arm's base"),
    trays: may(by("trays by name", "tray", movable, tray), "trays and nests by name"),
    tcp: may(by("tool centre points by gripper", "gripper", grippers, tcp), "tool centre points by gripper"),
    grippers: may(
      by("grippers by name", "gripper", grippers, choices("gripper", grippers)),
      "grippers to take in place of a gripper, by its name",
    ),
    grips: may(
      by("grips by part", "part", [...cell.parts.keys()], gripChoices),
      "grips to take in place of a part's first, by part",
    ),
  } satisfies Fields;
  const file = {
    study: need(text, "the study's name"),
    note: may(text, "free text"),
    vary: need(record("what is varied", vary), "what is varied"),
    sample: may(sampleKind, "grid if left out, { random: 500, seed: 1 } or { halton: 500, seed: 1 }"),
    "compare by": may(listOf("objectives", word(OBJECTIVES), 1, OBJECTIVES.length), "objectives of the front"),
    "least clearance": may(quantity("length", { atLeast: "0 mm" }), "layouts with less are left out of the front"),
    stand: may(
      listOf(
        "shapes of the stand",
        one(
          "shape",
          cell.scene.shapes.map(({ name }) => name),
        ),
        0,
        100,
      ),
      "scene shapes that go with the base; those found under it if left out",
    ),
    checks: may(count(0, 1000), "layouts of the front that are checked in full"),
    parts: may(choices("part", [...cell.parts.keys()]), "part variants to run"),
  } satisfies Fields;
  return { file: record("a study", file) };
}

const sampled = record(
  "a sample",
  {
    random: may(count(1, MOST_LAYOUTS), "number of points drawn at random"),
    halton: may(count(1, MOST_LAYOUTS), "number of points of the Halton sequence"),
    seed: may(count(0, 4_294_967_295), "seed, 1 if left out"),
  },
  { exactlyOne: [["random", "halton"]] },
);

const sampleKind: Kind<Sampling> = {
  expected: "grid, { random: 500, seed: 1 } or { halton: 500, seed: 1 }",
  read(at, reading) {
    if (at.kind === "scalar") return word(["grid"]).read(at, reading) && { kind: "grid" };
    const read = sampled.read(at, reading);
    if (read === undefined) return undefined;
    const seed = read.seed ?? 1;
    return read.random !== undefined
      ? { kind: "random", count: read.random, seed }
      : { kind: "halton", count: read.halton!, seed };
  },
  schema: (parts) => ({ anyOf: [{ const: "grid" }, sampled.schema(parts)] }),
};

/**
 * Reads a study of a cell.
 * @param name of the file, for messages
 * @returns every issue found, in the order of the text. Never throws, whatever the text
 */
export function loadStudy(content: string, name: string, cell: Cell): Loaded<Study> {
  const log = new IssueLog();
  const written = parseText(content, name, 1, log);
  const reading = readingOf(log);
  const study = written && readStudy(written, cell, reading);
  return study === undefined || log.count > 0 ? { ok: false, issues: log.list() } : { ok: true, value: study };
}

/** One axis of the base as an option gives it: "-300 to 300 mm, 21". Issues name the option. */
export function baseAxisFrom(content: string, option: string, along: keyof typeof baseFields): Loaded<Axis> {
  const log = new IssueLog();
  const source = { name: option, order: 1, place: (offset: number) => ({ file: option, line: 1, column: offset + 1 }) };
  const written: Written = { kind: "scalar", text: content, quoted: false, source, start: 0, path: [] };
  const kind = along === "turn" ? angle : length;
  const read = kind.read(written, readingOf(log));
  if (read === undefined) return { ok: false, issues: log.list() };
  return { ok: true, value: { name: `base ${along}`, change: { kind: "base", along }, ...read } };
}

/** Names of the cell are looked up by the kinds themselves; a study names no files. */
const readingOf = (log: IssueLog): Reading =>
  ({ log, names: undefined, readUrdf: () => undefined, resolveFile: () => undefined }) as unknown as Reading;

function readStudy(at: Written, cell: Cell, reading: Reading): Study | undefined {
  const read = kindsOf(cell).file.read(at, reading);
  if (read === undefined) return undefined;
  const { vary } = read;
  const axes: ReadAxis[] = [];
  for (const { key } of vary.written.entries) {
    if (key === "base" && vary.base !== undefined)
      for (const along of alongs(vary.base.written, baseFields))
        axes.push({ name: `base ${along}`, change: { kind: "base", along }, spread: vary.base[along]! });
    if (key === "trays")
      for (const [holder, tray] of vary.trays ?? []) {
        for (const along of alongs(tray.written, { x: 0, y: 0, turn: 0 }))
          axes.push({ name: `${holder} ${along}`, change: { kind: "tray", holder, along }, spread: tray[along]! });
        if (tray.order !== undefined)
          axes.push({ name: `${holder} order`, change: { kind: "order", holder }, words: tray.order });
      }
    if (key === "tcp")
      for (const [gripper, point] of vary.tcp ?? [])
        for (const along of alongs(point.written, { x: 0, y: 0, z: 0 }))
          axes.push({
            name: `${gripper} tcp ${along}`,
            change: { kind: "tcp", gripper, along },
            spread: point[along]!,
          });
    if (key === "grippers")
      for (const [gripper, words] of vary.grippers ?? [])
        axes.push({ name: `gripper for ${gripper}`, change: { kind: "gripper", gripper }, words });
    if (key === "grips")
      for (const [part, words] of vary.grips ?? [])
        axes.push({ name: `${part} grip`, change: { kind: "grip", part }, words });
  }
  if (!checkAxes(axes, read.written, vary.written, cell, reading)) return undefined;
  const whole = axes.map(
    ({ name, change, spread: numbers, words }): Axis =>
      words === undefined
        ? { name, change, ...numbers! }
        : { name, change, values: words.map((_, i) => i), words, continuous: false },
  );
  const sampling = read.sample ?? { kind: "grid" };
  const total = sampleCount(whole, sampling);
  if (total > MOST_LAYOUTS)
    return reading.log.report(
      "too-many-layouts",
      vary.written,
      `${total.toLocaleString("en")} layouts`,
      `at most ${MOST_LAYOUTS.toLocaleString("en")}`,
      "Lower the counts, vary less at a time, or draw a sample: { halton: 10000 }.",
    );
  const compareBy: readonly Objective[] = read["compare by"] ?? USUAL_OBJECTIVES;
  return {
    title: read.study,
    axes: whole,
    sampling,
    objectives: [...new Set(compareBy)],
    leastClearance: read["least clearance"],
    stand: read.stand,
    checks: read.checks ?? DEFAULT_CHECKS,
    variants: read.parts,
  };
}

const alongs = <K extends string>(written: WrittenMap, known: Readonly<Record<K, unknown>>): K[] =>
  written.entries.map(({ key }) => key).filter((key): key is K => Object.hasOwn(known, key));

/** What can be wrong with the axes together. False once an issue is logged. */
function checkAxes(axes: readonly ReadAxis[], at: WrittenMap, vary: WrittenMap, cell: Cell, reading: Reading): boolean {
  const before = reading.log.count;
  if (axes.length === 0)
    reading.log.add(
      "nothing-varied",
      vary,
      "nothing to vary",
      "at least one of base, trays, tcp, grippers, grips with values",
      'Add one, such as base: { x: "-200 to 200 mm, 21" }.',
    );
  if (axes.length > MOST_AXES)
    reading.log.add("too-many-axes", vary, `${axes.length} axes`, `at most ${MOST_AXES}`, "Vary less at a time.");
  for (const { change, words, name } of axes) {
    const spot = spotOf(at, change);
    if (words !== undefined && new Set(words).size < words.length)
      reading.log.add("duplicate-value", spot, `${name}: ${words.join(", ")}`, "different words", "Leave one out.");
    if (change.kind === "order" && !isTray(cell.holders.get(change.holder)))
      reading.log.add(
        "not-a-tray",
        spot,
        `an order for ${change.holder}, which has one place`,
        "a tray with several places",
        "Leave out the order.",
      );
    if (change.kind === "grip") {
      const grips = [...(cell.parts.get(change.part)?.grips.keys() ?? [])];
      for (const grip of words ?? [])
        if (!grips.includes(grip))
          reading.log.add(
            "missing-grip",
            spot,
            printable(grip, 60),
            `a grip of ${change.part} (${grips.join(", ") || "it has none"})`,
            "Name a grip that the part has.",
          );
    }
  }
  return reading.log.count === before;
}

const isTray = (holder: Holder | undefined) => holder !== undefined && holder.places.length > 1;

/** Where an axis is written. */
function spotOf(root: WrittenMap, change: Change) {
  const steps =
    change.kind === "order"
      ? ["vary", "trays", change.holder, "order"]
      : change.kind === "grip"
        ? ["vary", "grips", change.part]
        : change.kind === "gripper"
          ? ["vary", "grippers", change.gripper]
          : ["vary"];
  let at: Written = root;
  for (const step of steps) {
    const next: Written | undefined = at.kind === "map" ? at.entries.find(({ key }) => key === step)?.value : undefined;
    if (next === undefined) break;
    at = next;
  }
  return at;
}
