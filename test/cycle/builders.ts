/** Small cells in code, for tests of the cycle: only what a simulation looks at is real, the rest is neutral. */
import type { ArmDescription } from "../../src/cell/arm-description.ts";
import type {
  Cell,
  Command,
  Device,
  Gripper,
  Holder,
  Machine,
  Part,
  Process,
  Signal,
  TimeRange,
} from "../../src/cell/model.ts";
import type { ByVariant, Condition, Routine, SignalCondition, Step, Target } from "../../src/cell/steps.ts";
import type { MoveContext, MoveOutcome, Mover } from "../../src/cycle/types.ts";
import { identityPose } from "../../src/math/pose.ts";

const named = (name: string): ByVariant => ({ default: name, variants: new Map() });
export const range = (min: number, max = min): TimeRange => ({ min, max });

/** Steps in short; ids and paths are given when the routine is built. */
type Draft = Record<string, unknown> & { kind: Step["kind"] };

export const go = (to: string, more: Record<string, unknown> = {}): Draft => {
  const { offset, place, ...rest } = more;
  return {
    kind: "go",
    to: {
      at: named(to),
      kind: "pose",
      bring: "gripper",
      ...(offset === undefined ? {} : { offset }),
      ...(place === undefined ? {} : { place }),
    },
    by: "joint",
    speed: { constant: false },
    blend: 0,
    ...rest,
  };
};
export const near = { offset: { in: "target", pose: identityPose() } };
export const hold = (gripper: string, from: string | ByVariant): Draft => ({
  kind: "hold",
  gripper,
  from: typeof from === "string" ? named(from) : from,
});
export const free = (gripper: string, into: string): Draft => ({ kind: "free", gripper, into: named(into) });
export const drive = (signal: string, to: boolean): Draft => ({ kind: "drive", signal, to });
export const pulse = (signal: string, width: number): Draft => ({ kind: "pulse", signal, width });
export const dwell = (time: number): Draft => ({ kind: "dwell", time });
export const press = (time: number): Draft => ({
  kind: "press",
  force: 20,
  time,
  travel: 0.005,
  expect: 0,
  speed: 0.01,
});
export const run = (routine: string): Draft => ({ kind: "run", routine });
export const on = (signal: string): SignalCondition => ({ kind: "signal", signal, is: true });
export const off = (signal: string): SignalCondition => ({ kind: "signal", signal, is: false });
export const wait = (condition: SignalCondition | string, more: Record<string, unknown> = {}): Draft => ({
  kind: "await",
  condition: typeof condition === "string" ? on(condition) : condition,
  limit: undefined,
  otherwise: { kind: "stop" },
  ...more,
});
export const each = (over: readonly string[] | number, steps: readonly Draft[]): Draft =>
  typeof over === "number"
    ? { kind: "each", over: [], times: over, steps }
    : { kind: "each", over: over.map(named), steps };
export const when = (condition: Condition, then: readonly Draft[], otherwise: readonly Draft[] = []): Draft => ({
  kind: "when",
  condition,
  then,
  otherwise,
});

function placed(
  drafts: readonly Draft[],
  path: readonly (string | number)[],
  id: string,
  holders: ReadonlySet<string>,
): Step[] {
  return drafts.map((draft, i) => {
    const own = { path: [...path, i], id: `${id}[${i}]` };
    const step: Record<string, unknown> = { ...draft, ...own };
    if (draft.kind === "each")
      step["steps"] = placed(draft["steps"] as Draft[], [...own.path, "do"], `${own.id}.do`, holders);
    if (draft.kind === "when") {
      // biome-ignore lint/suspicious/noThenProperty: the step's own key
      step["then"] = placed(draft["then"] as Draft[], [...own.path, "then"], `${own.id}.then`, holders);
      step["otherwise"] = placed(
        draft["otherwise"] as Draft[],
        [...own.path, "otherwise"],
        `${own.id}.otherwise`,
        holders,
      );
    }
    if (draft.kind === "go") {
      const to = draft["to"] as Target;
      if (holders.has(to.at.default!)) step["to"] = { ...to, kind: "holder", bring: "part" };
    }
    return step as unknown as Step;
  });
}

export interface DeviceSpec {
  name: string;
  start: string;
  positions?: string[];
  command: Command;
  /** One range for all positions, or by position. */
  time: TimeRange | Record<string, TimeRange>;
  feedback?: Record<string, string>;
  clamps?: string;
}

function device(spec: DeviceSpec, machine?: string): Device {
  const positions = spec.positions ?? ["open", "closed"];
  const time = new Map(
    positions.map((p) => [
      p,
      "min" in spec.time ? (spec.time as TimeRange) : (spec.time as Record<string, TimeRange>)[p]!,
    ]),
  );
  return {
    name: spec.name,
    ...(machine === undefined ? {} : { machine }),
    positions,
    start: spec.start,
    command: spec.command,
    time,
    feedback: new Map(Object.entries(spec.feedback ?? {})),
    sweeps: [],
    shapes: [],
    worldFromShapes: new Map(),
    ...(spec.clamps === undefined ? {} : { clamps: spec.clamps }),
    faults: [],
  };
}

export const level = (signal: string, onPosition: string, offPosition: string): Command => ({
  style: "level",
  signal,
  on: onPosition,
  off: offPosition,
});
export const toggling = (signal: string, width: number): Command => ({ style: "toggling pulse", signal, width });

export function process(spec: Partial<Process> & { name: string; machine: string; start: Process["start"] }): Process {
  return { needs: [], before: [], after: [], spindle: true, ...spec };
}

export interface CellSpec {
  scan?: number;
  parts?: Part[];
  grippers?: { device: DeviceSpec; partPresent?: string }[];
  machines?: { name: string; devices: DeviceSpec[]; processes: Process[] }[];
  /** Holders in order; `places` many. */
  holders: {
    name: string;
    places?: number;
    kind?: Holder["kind"];
    device?: string;
    start?: string;
    accepts?: string[];
  }[];
  inputs?: (string | Signal)[];
  outputs?: (string | { name: string; initial: boolean })[];
  routines: Record<string, Draft[]>;
}

export const input = (name: string, more: Partial<Signal> = {}): Signal => ({
  name,
  direction: "input",
  kind: "digital",
  initial: false,
  ...more,
});

export function part(name: string, times: Record<string, TimeRange> = {}, stages = ["raw", "done"]): Part {
  return {
    name,
    partFromShape: identityPose(),
    stages: stages.map((stage) => ({
      name: stage,
      inertia: { mass: 1, centre: [0, 0, 0], tensor: [0, 0, 0, 0, 0, 0] },
    })),
    grips: new Map([["end", { name: "end", partFromTcp: identityPose(), way: "friction" as const }]]),
    processTimes: new Map(Object.entries(times)),
  };
}

export function cell(spec: CellSpec): Cell {
  const signals = new Map<string, Signal>();
  for (const entry of spec.inputs ?? []) {
    const signal = typeof entry === "string" ? input(entry) : entry;
    signals.set(signal.name, signal);
  }
  for (const entry of spec.outputs ?? []) {
    const { name, initial } = typeof entry === "string" ? { name: entry, initial: false } : entry;
    signals.set(name, { name, direction: "output", kind: "digital", initial });
  }
  const grippers = new Map<string, Gripper>(
    (spec.grippers ?? []).map(({ device: d, partPresent }) => [
      d.name,
      {
        name: d.name,
        flangeFromTcp: identityPose(),
        jaws: 2,
        device: device(d),
        ...(partPresent === undefined ? {} : { partPresent }),
        shapes: [],
      },
    ]),
  );
  const holders = new Map<string, Holder>(
    spec.holders.map((h) => [
      h.name,
      {
        name: h.name,
        kind: h.kind ?? (h.device === undefined ? "tray" : "device"),
        places: Array.from({ length: h.places ?? 1 }, (_, index) => ({ index, worldFromPlace: identityPose() })),
        ...(h.device === undefined ? {} : { device: h.device }),
        start: h.start === undefined ? undefined : { part: h.start, stage: "raw" },
        accepts: h.accepts ?? [],
      },
    ]),
  );
  const machines = new Map<string, Machine>(
    (spec.machines ?? []).map((m) => [
      m.name,
      {
        name: m.name,
        frame: "world",
        devices: m.devices.map((d) => device(d, m.name)),
        processes: m.processes,
        shapes: [],
      },
    ]),
  );
  const known = new Set(holders.keys());
  const routines = new Map<string, Routine>(
    Object.entries(spec.routines).map(([name, steps]) => [
      name,
      { name, steps: placed(steps, ["routines", name], name, known) },
    ]),
  );
  const parts = spec.parts ?? [part("part")];
  return {
    name: "test cell",
    arm: { name: "arm" } as unknown as ArmDescription,
    worldFromBase: identityPose(),
    gravity: [0, 0, -9.81],
    controller: { ports: new Map(), scan: spec.scan ?? 0 },
    tool: { grippers, shapes: [] },
    parts: new Map(parts.map((p) => [p.name, p])),
    machines,
    frames: new Map(),
    holders,
    scene: { shapes: [], zones: new Map() },
    signals,
    poses: new Map(),
    routines,
    entry: "main",
    home: [0],
    motion: { jointSpeed: 1, lineSpeed: 0.25, lineAcceleration: 2, lineStep: 0.002 },
    production: undefined,
    rules: [],
    locate: () => ({ file: "test", line: 1, column: 1 }),
  };
}

/** Every motion takes the time that its step names under `seconds`, else `fallback`; a press its own time. */
export function timedMover(
  fallback = 1,
  seen: { chain: string[]; context: MoveContext }[] = [],
): Mover<{ message: string }> {
  const timeOf = (step: unknown) => (step as { seconds?: number }).seconds ?? fallback;
  return {
    go(chain, context): MoveOutcome<{ message: string }> {
      seen.push({ chain: chain.map((s) => s.id), context });
      const perStep = chain.map(timeOf);
      return {
        ok: true,
        duration: perStep.reduce((a, b) => a + b, 0),
        perStep,
        end: context.q,
        motion: undefined,
      };
    },
    press(step, context): MoveOutcome<{ message: string }> {
      return { ok: true, duration: step.time, perStep: [step.time], end: context.q, motion: undefined };
    },
  };
}

/** One line per activity: "lane kind label start-end". */
export const bars = (
  run: { activities: readonly { lane: string; label: string; start: number; end: number }[] },
  lane: string,
) => run.activities.filter((a) => a.lane === lane).map((a) => [a.label, round(a.start), round(a.end)] as const);

export const round = (x: number): number => Number(x.toFixed(6));
