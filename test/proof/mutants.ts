/** Cells with one slip in their routines, the kind that a person makes: steps left out, exchanged, too short, too impatient. */
import type { Cell, Device } from "../../src/cell/model.ts";
import type { AwaitStep, Routine, Step } from "../../src/cell/steps.ts";

export interface Mutant {
  /** "without load[3]", "load[3] and load[4] exchanged", "load[7] only 0.89 s" … */
  readonly name: string;
  readonly cell: Cell;
}

/** Every mutant of every routine, or of those named. */
export function mutantsOf(cell: Cell, routines: readonly string[] = [...cell.routines.keys()]): Mutant[] {
  const mutants: Mutant[] = [];
  const known = new Set<string>();
  const add = (name: string, routine: string, list: readonly Step[], change: (steps: readonly Step[]) => Step[]) => {
    // Halving a limit may cut it to the same value as another slip.
    if (known.has(name)) return;
    known.add(name);
    mutants.push({ name, cell: withList(cell, routine, list, change(list)) });
  };
  for (const name of routines)
    for (const list of listsOf(cell.routines.get(name)!.steps))
      for (const [i, step] of list.entries()) {
        const put = (changed: Step) => (steps: readonly Step[]) => steps.map((s) => (s === step ? changed : s));
        add(`without ${step.id}`, name, list, (steps) => steps.filter((s) => s !== step));
        const next = list[i + 1];
        if (next !== undefined)
          add(`${step.id} and ${next.id} exchanged`, name, list, (steps) =>
            steps.map((s) => (s === step ? next : s === next ? step : s)),
          );
        if (step.kind === "dwell")
          for (const time of tooShort(cell, list, i, step.time))
            add(`${step.id} only ${inSeconds(time)}`, name, list, put({ ...step, time }));
        if (step.kind === "pulse") {
          const width = step.width / 2;
          add(`${step.id} only ${inSeconds(width)} wide`, name, list, put({ ...step, width }));
        }
        if (step.kind === "await" && step.limit !== undefined)
          for (const limit of [step.limit / 2, ...slowestAwaited(cell, step)])
            add(`${step.id} limited to ${inSeconds(limit)}`, name, list, put({ ...step, limit }));
      }
  return mutants;
}

const MARGIN = 0.01;
const inSeconds = (time: number): string => `${Number(time.toFixed(4))} s`;

/** All lists of steps: the routine's own and those inside `each` and `when`. */
function listsOf(steps: readonly Step[]): (readonly Step[])[] {
  const inner = steps.flatMap((step) =>
    step.kind === "each"
      ? listsOf(step.steps)
      : step.kind === "when"
        ? [...listsOf(step.then), ...listsOf(step.otherwise)]
        : [],
  );
  return steps.length === 0 ? inner : [steps, ...inner];
}

/** Ids of the steps stay as they were. */
function withList(cell: Cell, routine: string, list: readonly Step[], instead: readonly Step[]): Cell {
  const inside = (steps: readonly Step[]): readonly Step[] => {
    if (steps === list) return instead;
    return steps.map((step) => {
      if (step.kind === "each") return { ...step, steps: inside(step.steps) };
      // biome-ignore lint/suspicious/noThenProperty: the step's own word
      if (step.kind === "when") return { ...step, then: inside(step.then), otherwise: inside(step.otherwise) };
      return step;
    });
  };
  const routines = new Map<string, Routine>(cell.routines);
  routines.set(routine, { name: routine, steps: inside(cell.routines.get(routine)!.steps) });
  return { ...cell, routines, locate: (path) => cell.locate(path) };
}

/**
 * Times just below the slowest movement of what the step before the dwell has set going. After a pulse two: with and without the
 * time that the pulse itself took, during which the device was already on its way.
 */
function tooShort(cell: Cell, list: readonly Step[], index: number, is: number): number[] {
  const before = list[index - 1];
  if (before === undefined) return [];
  const device = devicesOf(cell).find(({ name, command }) => {
    if (before.kind === "hold" || before.kind === "free")
      return name === cell.tool.grippers.get(before.gripper)?.device.name;
    if (before.kind === "pulse") return command.style === "toggling pulse" && command.signal === before.signal;
    return false;
  });
  if (device === undefined) return [];
  const slowest = Math.max(...[...device.time].filter(([to]) => wanted(before, to)).map(([, { max }]) => max));
  const gone = before.kind === "pulse" ? [0, before.width] : [0];
  return gone.map((time) => slowest - time - MARGIN).filter((time) => time > 0 && time < is);
}

const wanted = (step: Step, position: string): boolean =>
  step.kind === "hold" ? position === "closed" : step.kind === "free" ? position === "open" : true;

/**
 * Limits just below the longest time of what a wait for one signal to go on waits for. For a process two: before the wait begins, it
 * has run for as long as its start pulse.
 */
function slowestAwaited(cell: Cell, { condition }: AwaitStep): number[] {
  if (condition.kind !== "signal" || !condition.is) return [];
  for (const { feedback, time } of devicesOf(cell))
    for (const [position, signal] of feedback)
      if (signal === condition.signal) return [time.get(position)!.max - MARGIN];
  for (const { name, time, start, done } of [...cell.machines.values()].flatMap(({ processes }) => processes)) {
    if (done?.signal !== condition.signal) continue;
    const stated = [...cell.parts.values()].flatMap((part) => part.processTimes.get(name)?.max ?? []);
    const slowest = Math.min(...stated, time?.max ?? Number.POSITIVE_INFINITY);
    return [slowest - MARGIN, slowest - start.width - 5 * MARGIN];
  }
  return [];
}

const devicesOf = (cell: Cell): Device[] => [
  ...[...cell.tool.grippers.values()].map(({ device }) => device),
  ...[...cell.machines.values()].flatMap(({ devices }) => devices),
];
