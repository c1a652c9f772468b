/**
 * The files of a cell with the changes of a layout made in place: only the values that change are written anew, everything
 * else, comments included, stays to the letter. What is written is read again and compared with the layout before it counts.
 */
import { isMap, isPair, isScalar, isSeq, type Node, type Pair, parseDocument, type YAMLMap } from "yaml";
import { type LoadOptions, loadCell } from "../cell/load.ts";
import type { Cell } from "../cell/model.ts";
import { abcFromPose, compose, distanceBetween, invert, type Pose } from "../math/pose.ts";
import { toDegrees, toMm } from "../math/units.ts";
import type { LayoutValues } from "./axes.ts";
import { standOf } from "./stand.ts";
import type { Study } from "./study.ts";
import { baseShift, originOf, varyCell } from "./vary-cell.ts";

/** One value written anew. */
export interface TextChange {
  readonly file: string;
  readonly line: number;
  readonly column: number;
  /** "arm.mount.at" */
  readonly path: string;
  /** As it was written; "" where it was not written at all. */
  readonly from: string;
  readonly to: string;
}

export type Rewritten =
  | { readonly ok: true; readonly changes: readonly TextChange[]; readonly texts: ReadonlyMap<string, string> }
  /** Why it cannot be written in place, and what to do instead. */
  | { readonly ok: false; readonly reason: string };

interface Splice {
  readonly file: string;
  readonly start: number;
  readonly end: number;
  readonly text: string;
  readonly path: string;
}

class CannotWrite extends Error {}

/**
 * @param texts of the cell's files, by the names under which it was loaded
 * @param entry name of the first of them
 */
export function rewriteCell(
  cell: Cell,
  study: Study,
  values: LayoutValues,
  texts: ReadonlyMap<string, string>,
  entry: string,
  options: LoadOptions = {},
): Rewritten {
  const wanted = varyCell(cell, study, values);
  try {
    const splices = splicesFor(cell, wanted, study, values, texts);
    const changed = new Map(texts);
    for (const file of new Set(splices.map((splice) => splice.file))) {
      let text = texts.get(file)!;
      // From the end; of two at one place the later one first, so that they stand in their order.
      const own = splices.filter((splice) => splice.file === file).reverse();
      own.sort((a, b) => b.start - a.start);
      for (const { start, end, text: to } of own) text = text.slice(0, start) + to + text.slice(end);
      changed.set(file, text);
    }
    const source = {
      read: (name: string) => {
        const text = changed.get(name);
        return text === undefined ? ({ problem: "missing", detail: "not among the cell's files" } as const) : { text };
      },
    };
    const again = loadCell(entry, source, options);
    if (!again.ok)
      return {
        ok: false,
        reason: `the changed text cannot be read again (${again.issues[0]!.found}): make the change by hand`,
      };
    const difference = differs(again.value, wanted);
    if (difference !== undefined)
      return { ok: false, reason: `${difference} would not be where the layout has it: make the change by hand` };
    return { ok: true, changes: splices.map((splice) => changeOf(splice, texts)), texts: changed };
  } catch (error) {
    if (error instanceof CannotWrite) return { ok: false, reason: error.message };
    throw error;
  }
}

function changeOf({ file, start, end, text, path }: Splice, texts: ReadonlyMap<string, string>): TextChange {
  const whole = texts.get(file)!;
  const before = whole.slice(0, start);
  const line = before.split("\n").length;
  return {
    file,
    line,
    column: start - (before.lastIndexOf("\n") + 1) + 1,
    path,
    from: whole.slice(start, end),
    to: text.replace(/^[\s,]+/, "").trimEnd(),
  };
}

/** Positions are written to 0.1 µm and angles to a millionth of a degree: to be met to these. */
const CLOSE = 1e-6;

function differs(is: Cell, wanted: Cell): string | undefined {
  const far = (a: Pose, b: Pose) => distanceBetween(a, b) > CLOSE || a.some((v, i) => Math.abs(v - b[i]!) > CLOSE);
  if (far(is.worldFromBase, wanted.worldFromBase)) return "the base";
  for (const [name, holder] of wanted.holders)
    if (holder.places.some((place, i) => far(place.worldFromPlace, is.holders.get(name)!.places[i]!.worldFromPlace)))
      return name;
  for (const [name, gripper] of wanted.tool.grippers)
    if (far(gripper.flangeFromTcp, is.tool.grippers.get(name)!.flangeFromTcp))
      return `the tool centre point of ${name}`;
  for (const [i, { name, ownerFromShape, shape }] of wanted.scene.shapes.entries()) {
    const own = is.scene.shapes[i]!;
    if (far(ownerFromShape, own.ownerFromShape)) return name;
    if (
      shape.kind === "box" &&
      own.shape.kind === "box" &&
      shape.size.some((v, k) => Math.abs(v - (own.shape as typeof shape).size[k]!) > CLOSE)
    )
      return name;
  }
  return undefined;
}

function splicesFor(
  cell: Cell,
  wanted: Cell,
  study: Study,
  values: LayoutValues,
  texts: ReadonlyMap<string, string>,
): Splice[] {
  const files = new Files(cell, texts);
  const world = (frame: string | undefined): Pose => cell.frames.get(frame ?? "world")!.worldFromFrame;
  const splices: Splice[] = [];
  const shift = baseShift(study.axes, values);
  const moves = shift.x !== 0 || shift.y !== 0 || shift.height !== 0;

  if (moves || shift.turn !== 0) {
    const mount = files.at(["arm", "mount"]);
    if (mount === undefined) {
      const arm = files.need(["arm"]);
      const pose = `{ at: ${pointText(wanted.worldFromBase)}, abc: ${abcText(wanted.worldFromBase)} }`;
      splices.push(insertion(arm, "mount", pose, ["arm", "mount"]));
    } else {
      const local = compose(invert(world(textOf(mount.map, "in"))), wanted.worldFromBase);
      splices.push(...poseSplices(mount, local, moves, shift.turn !== 0, ["arm", "mount"]));
    }
    for (const name of standOf(cell, study.stand)) {
      const path = ["scene", "shapes", name];
      const shape = files.at(path);
      if (shape === undefined)
        throw new CannotWrite(`${name} moves with the base but is not written under scene.shapes: move it by hand`);
      const now = wanted.scene.shapes.find((placed) => placed.name === name)!;
      const local = compose(invert(world(textOf(shape.map, "in"))), now.ownerFromShape);
      splices.push(...poseSplices(shape, local, moves, shift.turn !== 0, path));
      if (shift.height === 0) continue;
      if (now.shape.kind === "box") splices.push(replacement(shape, "box", boxText(now.shape.size), path));
      else if (now.shape.kind === "cylinder") {
        const cylinder = files.need([...path, "cylinder"]);
        splices.push(replacement(cylinder, "length", `${number(toMm(now.shape.length), 4)} mm`, [...path, "cylinder"]));
      }
    }
  }

  const holders = new Set<string>();
  const grippers = new Set<string>();
  for (const [a, { change, words }] of study.axes.entries()) {
    const value = values[a]!;
    if (Number.isNaN(value)) continue;
    if (change.kind === "gripper" || change.kind === "grip")
      throw new CannotWrite(
        `the choice of ${change.kind === "gripper" ? "another gripper" : "another grip"} is not written into files: change the steps of the routines that name it`,
      );
    if (change.kind === "order") {
      const { path, spot } = files.holder(change.holder);
      splices.push(replacement(spot, "order", words![value]!, path));
    }
    if (change.kind === "tray" && value !== 0) holders.add(change.holder);
    if (change.kind === "tcp" && value !== 0) grippers.add(change.gripper);
  }
  for (const name of holders) {
    const { path, spot } = files.holder(name);
    const local = compose(invert(world(textOf(spot.map, "in"))), originOf(wanted.holders.get(name)!));
    const turned = study.axes.some(
      ({ change }, a) =>
        change.kind === "tray" && change.holder === name && change.along === "turn" && (values[a] || 0) !== 0,
    );
    splices.push(...poseSplices(spot, local, true, turned, path));
  }
  for (const name of grippers) {
    const path = ["tool", "grippers", name];
    const tcp = wanted.tool.grippers.get(name)!.flangeFromTcp;
    const point = files.at([...path, "tcp"]);
    if (point === undefined) splices.push(replacement(files.need(path), "tcp", pointText(tcp), path));
    else splices.push(...poseSplices(point, tcp, true, false, [...path, "tcp"]));
  }
  return splices;
}

interface Spot {
  readonly file: string;
  readonly text: string;
  readonly map: YAMLMap;
}

/** Nodes of the files of a cell by their path. */
class Files {
  readonly #documents = new Map<string, ReturnType<typeof parseDocument>>();

  constructor(
    private readonly cell: Cell,
    private readonly texts: ReadonlyMap<string, string>,
  ) {}

  /** The map that stands at a path; undefined where none does. */
  at(path: readonly string[]): Spot | undefined {
    const { file } = this.cell.locate(path);
    const text = this.texts.get(file);
    if (text === undefined) return undefined;
    let document = this.#documents.get(file);
    if (document === undefined) {
      document = parseDocument(text, { schema: "failsafe" });
      this.#documents.set(file, document);
    }
    const node = document.getIn(path, true);
    return isMap(node) ? { file, text, map: node } : undefined;
  }

  need(path: readonly string[]): Spot {
    const spot = this.at(path);
    if (spot === undefined)
      throw new CannotWrite(
        `${path.join(".")} is not written as a map of its own (an alias, perhaps): change it by hand`,
      );
    return spot;
  }

  holder(name: string): { readonly path: readonly string[]; readonly spot: Spot } {
    for (const group of ["trays", "nests"]) {
      const path = ["scene", group, name];
      const spot = this.at(path);
      if (spot !== undefined) return { path, spot };
    }
    throw new CannotWrite(`${name} is not written under scene.trays or scene.nests: change it by hand`);
  }
}

const pairOf = (map: YAMLMap, key: string): Pair | undefined =>
  map.items.find((pair) => isPair(pair) && isScalar(pair.key) && String(pair.key.value) === key);

function textOf(map: YAMLMap, key: string): string | undefined {
  const value = pairOf(map, key)?.value;
  return isScalar(value) ? String(value.value) : undefined;
}

/** Splices that give a map another place and, where wanted, another orientation. */
function poseSplices(spot: Spot, pose: Pose, moved: boolean, turned: boolean, path: readonly string[]): Splice[] {
  const splices: Splice[] = [];
  if (moved) splices.push(replacement(spot, "at", pointText(pose), path));
  if (!turned) return splices;
  const other = ["axes", "quaternion"].map((key) => pairOf(spot.map, key)).find((pair) => pair !== undefined);
  if (other === undefined) return [...splices, replacement(spot, "abc", abcText(pose), path)];
  const [start] = rangeOf(other.key as Node);
  const [, end] = rangeOf(other.value as Node);
  return [...splices, { file: spot.file, start, end, text: `abc: ${abcText(pose)}`, path: [...path, "abc"].join(".") }];
}

function rangeOf(node: Node | null | undefined): [number, number] {
  if (!node?.range) throw new CannotWrite("a value of the cell file has no place in its text: change it by hand");
  return [node.range[0], node.range[1]];
}

/** The value of a key written anew, or the key added. */
function replacement(spot: Spot, key: string, text: string, path: readonly string[]): Splice {
  const pair = pairOf(spot.map, key);
  if (pair === undefined) return insertion(spot, key, text, [...path, key]);
  const value = pair.value as Node | null;
  if (value !== null && !isSeq(value) && !isScalar(value))
    throw new CannotWrite(`${[...path, key].join(".")} is not written as values: change it by hand`);
  const [start, end] = rangeOf(value);
  return { file: spot.file, start, end, text, path: [...path, key].join(".") };
}

/** A key added at the end of a map, in braces or on a line of its own. */
function insertion({ file, text: whole, map }: Spot, key: string, text: string, path: readonly string[]): Splice {
  const last = map.items.at(-1);
  const pathText = path.join(".");
  if (map.flow === true || last === undefined) {
    const [start, end] = rangeOf(map);
    if (last === undefined) return { file, start, end, text: `{ ${key}: ${text} }`, path: pathText };
    const [, after] = rangeOf((last.value ?? last.key) as Node);
    return { file, start: after, end: after, text: `, ${key}: ${text}`, path: pathText };
  }
  const [begin] = rangeOf(map.items[0]!.key as Node);
  const indent = " ".repeat(begin - (whole.lastIndexOf("\n", begin - 1) + 1));
  // In front of the first key: what follows the last one may be a comment of something else.
  return { file, start: begin, end: begin, text: `${key}: ${text}\n${indent}`, path: pathText };
}

const number = (value: number, digits: number): string => {
  const rounded = Number(value.toFixed(digits));
  return String(rounded === 0 ? 0 : rounded);
};

const pointText = (pose: Pose): string => `[${[3, 7, 11].map((k) => number(toMm(pose[k]!), 4)).join(", ")} mm]`;
const abcText = (pose: Pose): string =>
  `[${abcFromPose(pose)
    .map((angle) => number(toDegrees(angle), 7))
    .join(", ")} deg]`;
const boxText = (size: readonly number[]): string => `[${size.map((edge) => number(toMm(edge), 4)).join(", ")} mm]`;
