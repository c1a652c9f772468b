/**
 * What only shows when sections are held against each other: frames in a circle, routines that run themselves, outputs with two
 * masters, inputs with two sources, one name for two things. All of it is looked for in the text as written, so that an error
 * elsewhere in a section hides nothing.
 */
import type { Reading } from "./form/kind.ts";
import { keysOf, printable, type Spot, valueAt, type Written, type WrittenMap } from "./text/written.ts";

export function crossCheck(root: WrittenMap, reading: Reading): void {
  checkFrames(root, reading);
  checkRecursion(root, reading);
  checkSignalUse(root, reading);
  checkNames(root, reading);
}

/** Frames whose parents lead back to themselves. */
function checkFrames(root: WrittenMap, reading: Reading): void {
  const frames = valueAt(valueAt(root, "scene"), "frames");
  const parent = (name: string) => {
    const written = valueAt(valueAt(frames, name), "in");
    return written?.kind === "scalar" ? written.text.trim() : "world";
  };
  for (const round of rounds(keysOf(frames), (name) => [parent(name)])) {
    const spot = valueAt(valueAt(frames, round[0]!), "in")!;
    reading.log.add(
      "cyclic-frames",
      spot,
      [...round, round[0]!].map((name) => printable(name, 40)).join(" in "),
      "frames that lead to world",
      "Give one of these frames another parent.",
    );
  }
}

/** Routines that run themselves, directly or through others. */
function checkRecursion(root: WrittenMap, reading: Reading): void {
  const routines = valueAt(root, "routines");
  const calls = new Map(keysOf(routines).map((name) => [name, runsIn(valueAt(routines, name)!)]));
  for (const round of rounds([...calls.keys()], (name) => (calls.get(name) ?? []).map(({ to }) => to))) {
    const spot = calls.get(round[0]!)!.find(({ to }) => to === (round[1] ?? round[0]))!.spot;
    reading.log.add(
      "recursion",
      spot,
      [...round, round[0]!].map((name) => printable(name, 40)).join(" runs "),
      "routines that do not run themselves",
      "Take one of these run steps out; repeat with each instead.",
    );
  }
}

function runsIn(at: Written): readonly { readonly to: string; readonly spot: Spot }[] {
  if (at.kind === "scalar") return [];
  if (at.kind === "list") return at.items.flatMap(runsIn);
  return at.entries.flatMap(({ key, value }) =>
    key === "run" && value.kind === "scalar" ? [{ to: value.text.trim(), spot: value }] : runsIn(value),
  );
}

/** Every elementary round of a graph that a depth-first walk meets, each begun at its first node in the given order. */
function rounds(nodes: readonly string[], next: (node: string) => readonly string[]): readonly (readonly string[])[] {
  const known = new Set(nodes);
  const done = new Set<string>();
  const found: string[][] = [];
  for (const start of nodes) {
    const path: string[] = [];
    // An explicit stack: a chain of frames may be thousands long.
    const stack: { readonly node: string; readonly rest: string[] }[] = [];
    const enter = (node: string) => {
      if (done.has(node) || !known.has(node)) return;
      const at = path.indexOf(node);
      if (at >= 0) {
        const round = path.slice(at);
        const first = round.reduce(
          (best, name, i) => (nodes.indexOf(name) < nodes.indexOf(round[best]!) ? i : best),
          0,
        );
        found.push([...round.slice(first), ...round.slice(0, first)]);
        return;
      }
      path.push(node);
      stack.push({ node, rest: [...new Set(next(node))] });
    };
    enter(start);
    while (stack.length > 0) {
      const top = stack.at(-1)!;
      const following = top.rest.shift();
      if (following === undefined) {
        done.add(top.node);
        path.pop();
        stack.pop();
      } else enter(following);
    }
  }
  return found;
}

interface Use {
  readonly signal: string;
  readonly spot: Spot;
  readonly by: string;
}

/** Outputs that command two things, inputs that two things set. */
function checkSignalUse(root: WrittenMap, reading: Reading): void {
  const outputs: Use[] = [];
  const inputs: Use[] = [];
  const put = (list: Use[], at: Written | undefined, by: string) => {
    if (at?.kind === "scalar") list.push({ signal: at.text.trim(), spot: at, by });
  };
  const device = (at: Written | undefined, name: string) => {
    const command = valueAt(at, "command");
    put(outputs, valueAt(command, "level"), name);
    put(outputs, valueAt(command, "toggling pulse"), name);
    for (const style of ["pair", "pulse"])
      for (const position of keysOf(valueAt(command, style)))
        put(outputs, valueAt(valueAt(command, style), position), name);
    const feedback = valueAt(at, "feedback");
    for (const position of keysOf(feedback)) put(inputs, valueAt(feedback, position), `${name} at ${position}`);
    put(inputs, valueAt(at, "part present"), `${name} (part present)`);
  };
  const grippers = valueAt(valueAt(root, "tool"), "grippers");
  for (const name of keysOf(grippers)) device(valueAt(grippers, name), name);
  const machines = valueAt(root, "machines");
  for (const machine of keysOf(machines)) {
    const devices = valueAt(valueAt(machines, machine), "devices");
    for (const name of keysOf(devices)) device(valueAt(devices, name), `${machine}.${name}`);
    const processes = valueAt(valueAt(machines, machine), "processes");
    for (const name of keysOf(processes)) {
      const process = valueAt(processes, name);
      const start = valueAt(process, "start");
      put(outputs, start?.kind === "scalar" ? start : valueAt(start, "signal"), `${machine}.${name}`);
      const done = valueAt(process, "done");
      put(inputs, done?.kind === "scalar" ? done : valueAt(done, "signal"), `${machine}.${name} (done)`);
      put(inputs, valueAt(process, "running"), `${machine}.${name} (running)`);
    }
  }
  const signals = valueAt(root, "signals");
  for (const name of keysOf(signals)) {
    const operator = valueAt(valueAt(signals, name), "operator") ?? valueAt(valueAt(signals, name), "constant");
    if (operator) inputs.push({ signal: name, spot: operator, by: "the operator, or constant" });
  }
  twice(
    outputs,
    reading,
    "output-used-twice",
    "an output that commands one device or process only",
    (first) => `which commands ${first}`,
  );
  twice(inputs, reading, "input-used-twice", "an input with one source", (first) => `which is set by ${first}`);
}

function twice(
  uses: readonly Use[],
  reading: Reading,
  code: string,
  expected: string,
  what: (first: string) => string,
): void {
  const first = new Map<string, Use>();
  for (const use of uses) {
    const other = first.get(use.signal);
    if (other === undefined) first.set(use.signal, use);
    else if (reading.names.of.signal.has(use.signal) && !(code === "output-used-twice" && other.by === use.by)) {
      const { file, line } = other.spot.source.place(other.spot.start);
      const where = file === use.spot.source.name ? `line ${line}` : `${file}:${line}`;
      reading.log.add(
        code,
        use.spot,
        `${printable(use.signal, 60)}, ${what(other.by)} (${where})`,
        expected,
        "Name another signal, or correct the other place.",
      );
    }
  }
}

/** A pose and a holder, a tray and a nest, or a gripper and a machine with one name. */
function checkNames(root: WrittenMap, reading: Reading): void {
  const scene = valueAt(root, "scene");
  const sections: readonly (readonly [string, Written | undefined])[] = [
    ["tray", valueAt(scene, "trays")],
    ["nest", valueAt(scene, "nests")],
    ["pose", valueAt(root, "poses")],
  ];
  const first = new Map<string, string>();
  for (const [what, section] of sections) {
    if (section?.kind !== "map") continue;
    for (const { key, keySpot } of section.entries) {
      const other = first.get(key);
      if (other === undefined) first.set(key, what);
      else
        reading.log.add(
          "duplicate-name",
          keySpot,
          `${printable(key, 60)}, the name of a ${other}`,
          "names that tell poses, trays and nests apart",
          "Rename one of the two.",
        );
    }
  }
}
