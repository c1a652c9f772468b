/**
 * The lines of a procedure from the states that the cell may be in. Three stretches, each planned from what is so at its beginning:
 * everything comes to rest; the arm gets home with no device moved but its own jaws; then parts are taken out by hand and devices
 * and outputs brought to where they are before the first start.
 */
import type { Device, Process } from "../../cell/model.ts";
import type { Ground } from "../tending/ground.ts";
import { type Facts, tellers } from "./facts.ts";
import { positionAtStart, restTime } from "./network.ts";
import type { Answer, Question, RecoveryLine, StepRetreats } from "./types.ts";

/** Numbers questions in the order in which they are put. */
export class Numbers {
  #last = 0;

  constructor(lines: readonly RecoveryLine[]) {
    for (const line of lines)
      if (line.kind === "ask" || line.kind === "read") this.#last = Math.max(this.#last, line.number);
  }

  next(): number {
    return ++this.#last;
  }
}

/** Everything comes to rest that moves by itself. */
export const restLines = (ground: Ground): RecoveryLine[] => [
  { kind: "wait", time: restTime(ground), until: "everything that was moving has come to rest" },
];

/** Machines finish what they have begun. */
export function processLines(ground: Ground, states: readonly Facts[], numbers: Numbers): RecoveryLine[] {
  const lines: RecoveryLine[] = [];
  for (const process of ground.processes) {
    const running = states.filter((state) => state.isRunning(process.name));
    if (running.length === 0) continue;
    let only: readonly Answer[] = [];
    if (running.length < states.length) {
      const line = told(ground, { kind: "process", process: process.name }, states, numbers.next());
      lines.push(line);
      only = [{ question: line.number, is: true }];
    }
    const limit = Math.ceil(longestRun(ground, process) * 1.1 + 1);
    const until = `${process.name} has ended`;
    if (process.done?.style === "until start")
      lines.push({ kind: "await", signal: process.done.signal, is: true, limit, until, only });
    else lines.push({ kind: "wait", time: limit, until, only });
  }
  // What the machines have moved last.
  if (lines.length > 0) lines.push(...restLines(ground));
  return lines;
}

/** Longest time from a start signal to the end, s. */
function longestRun(ground: Ground, process: Process): number {
  const { cell, variant } = ground;
  const own = cell.parts.get(variant)?.processTimes.get(process.name) ?? process.time;
  const moves = [...process.before, ...process.after].map(
    ({ device, position }) => ground.device(device).device.time.get(position)?.max ?? 0,
  );
  return (own?.max ?? 0) + moves.reduce((sum, time) => sum + time, 0) + (process.done?.width ?? 0);
}

/** The question put to a signal that answers it in all of the states, else to a person. */
function told(
  ground: Ground,
  question: Question,
  states: readonly Facts[],
  number: number,
): Extract<RecoveryLine, { kind: "ask" | "read" }> {
  for (const { signal, level } of tellers(ground, question))
    if (states.every((state) => (state.level(signal) === level) === state.answer(question)))
      return { kind: "read", number, question, signal, level };
  return { kind: "ask", number, question };
}

/** Where devices that sweep a zone stand while the arm is in it, by device, over all stops with power on. */
export type AccessPositions = ReadonlyMap<string, ReadonlySet<string>>;

export function accessPositions(ground: Ground, states: Iterable<Facts>): AccessPositions {
  const found = new Map<string, Set<string>>();
  const sweeping = [...ground.devices.values()].filter(({ device }) => device.sweeps.length > 0);
  for (const state of states)
    for (const { device } of sweeping) {
      const at = state.position(device.name);
      if (at === undefined || !device.sweeps.some((zone) => state.armIn(zone))) continue;
      const known = found.get(device.name) ?? new Set();
      found.set(device.name, known.add(at));
    }
  return found;
}

/** What has to be done before the arm leaves, as a key: equal for states that need the same. */
interface Deed {
  readonly trained: string | undefined;
  /** Grippers that open because a clamp holds the same part. */
  readonly frees: readonly { readonly gripper: string; readonly holder: string }[];
}

function deedIn(ground: Ground, state: Facts, access: AccessPositions): Deed {
  const trained = conflictIn(ground, state, access);
  if (trained !== undefined) return { trained, frees: [] };
  const frees = [...ground.grippers.values()].flatMap((gripper) => {
    const spot = ground.spots.find(({ number }) => number === state.shared(gripper));
    return spot === undefined ? [] : [{ gripper: gripper.gripper.name, holder: spot.holder.name }];
  });
  return { trained, frees };
}

/** Why people have to be called who know the machine. */
function conflictIn(ground: Ground, state: Facts, access: AccessPositions): string | undefined {
  for (const { device } of ground.devices.values()) {
    const at = state.position(device.name);
    if (at === undefined) return `${device.name} has not come to rest`;
    const zone = device.sweeps.find((name) => state.armIn(name));
    if (zone !== undefined && !(access.get(device.name)?.has(at) ?? false))
      return `the arm is in ${zone} and ${device.name} is ${at}`;
  }
  for (const spot of ground.spots) {
    if (spot.clamp === undefined || spot.rests || state.inSpot(spot) === 0) continue;
    if (state.position(spot.clamp.name) === spot.clamp.clamps) continue;
    if ([...ground.grippers.values()].some((gripper) => state.shared(gripper) === spot.number)) continue;
    return `a part may be loose in ${spot.holder.name}`;
  }
  return undefined;
}

/** From rest to home. */
export function homeLines(
  ground: Ground,
  states: readonly Facts[],
  access: AccessPositions,
  retreats: StepRetreats,
  numbers: Numbers,
): RecoveryLine[] {
  const lines: RecoveryLine[] = [];
  // Pulses that were cut short: their end moves nothing.
  for (const [signal, { pulsed }] of ground.outputs)
    if (pulsed !== undefined && states.some((state) => state.output(signal)))
      lines.push({ kind: "set", signal, to: false });
  const deeds = states.map((state) => deedIn(ground, state, access));
  const { questions, rows } = separate(
    ground,
    states,
    deeds.map((deed) => JSON.stringify(deed)),
    numbers,
  );
  lines.push(...questions);
  const kept = holdingOutputs(ground, states);
  if (kept.length > 0) lines.push({ kind: "keep", signals: kept });
  for (const { key, only } of rows) {
    const { trained, frees } = JSON.parse(key) as Deed;
    if (trained !== undefined) lines.push({ kind: "trained", why: trained, only });
    for (const { gripper, holder } of frees) {
      const { device } = ground.grippers.get(gripper)!;
      const places = new Set(states.map((state) => state.position(device.device.name)));
      const opening = bringLines(ground, device.device, "open", states, places, numbers, holder);
      lines.push(...opening.map((line) => ({ ...line, only: [...only, ...(line.only ?? [])] })));
    }
  }
  if (retreats.retreats.length === 0)
    lines.push({ kind: "trained", why: retreats.reason ?? "no way home was found that is clear" });
  else if (retreats.retreats.some(({ moves }) => moves.length > 0))
    lines.push({ kind: "move", retreats: retreats.retreats });
  return lines;
}

/** Outputs that are on and hold something where it is: they stay on. */
function holdingOutputs(ground: Ground, states: readonly Facts[]): string[] {
  const holding = new Set<string>();
  for (const { device } of ground.devices.values()) {
    const { command } = device;
    if (command.style === "level") holding.add(command.signal);
    if (command.style === "pair") for (const signal of command.signals.values()) holding.add(signal);
  }
  return [...holding].filter((signal) => states.some((state) => state.output(signal)));
}

/**
 * Lines that bring a device to a position, whatever it does now.
 * @param states how signals go with positions @param places where it may be before them
 */
function bringLines(
  ground: Ground,
  device: Device,
  position: string,
  states: readonly Facts[],
  places: ReadonlySet<string | undefined>,
  numbers: Numbers,
  into?: string,
): RecoveryLine[] {
  const { command, name } = device;
  const bring: RecoveryLine = { kind: "bring", device: name, position, ...(into === undefined ? {} : { into }) };
  const there = waitFor(ground, device, position);
  switch (command.style) {
    case "level":
      return [bring, { kind: "set", signal: command.signal, to: position === command.on }, there];
    case "pair": {
      const own = command.signals.get(position);
      if (own === undefined) return [{ kind: "trained", why: `no output brings ${name} to ${position}` }];
      const others = [...command.signals.values()].filter((signal) => signal !== own);
      return [
        bring,
        ...others.map((signal): RecoveryLine => ({ kind: "set", signal, to: false })),
        { kind: "set", signal: own, to: true },
        there,
      ];
    }
    case "pulse": {
      const own = command.signals.get(position);
      if (own === undefined) return [{ kind: "trained", why: `no output brings ${name} to ${position}` }];
      return [bring, { kind: "pulse", signal: own, width: command.width }, there];
    }
    case "toggling pulse": {
      const lines: RecoveryLine[] = [];
      const question: Question = { kind: "device", device: name, position };
      // Known for certain: counted. Else asked before each pulse.
      const [only] = places;
      if (places.size === 1 && only !== undefined) {
        const { positions } = device;
        const count = (positions.indexOf(position) - positions.indexOf(only) + positions.length) % positions.length;
        for (let k = 0; k < count; k++)
          lines.push(
            bring,
            { kind: "pulse", signal: command.signal, width: command.width },
            waitFor(ground, device, positions[(positions.indexOf(only) + k + 1) % positions.length]!),
          );
        return lines;
      }
      for (let k = 1; k < device.positions.length; k++) {
        const line =
          k === 1
            ? told(ground, question, states, numbers.next())
            : ({ kind: "ask", number: numbers.next(), question } as const);
        const no = [{ question: line.number, is: false }];
        lines.push(
          line,
          { ...bring, only: no },
          { kind: "pulse", signal: command.signal, width: command.width, only: no },
          { kind: "wait", time: slowest(device), until: `${name} has moved`, only: no },
        );
      }
      return lines;
    }
    case "none":
      return [...places].every((at) => at === position)
        ? []
        : [{ kind: "trained", why: `only its machine moves ${name}, and it may not be ${position}` }];
  }
}

const slowest = (device: Device): number => Math.max(0, ...[...device.time.values()].map(({ max }) => max));

function waitFor(ground: Ground, device: Device, position: string): RecoveryLine {
  const feedback = device.feedback.get(position);
  const longest = device.time.get(position)?.max ?? slowest(device);
  const until = `${device.name} is ${position}`;
  if (feedback === undefined) return { kind: "wait", time: longest + ground.cell.controller.scan, until };
  return { kind: "await", signal: feedback, is: true, limit: Math.max(1, Math.ceil(2 * longest)), until };
}

/** From home to the state before the first start. */
export function startLines(
  ground: Ground,
  states: readonly Facts[],
  access: AccessPositions,
  last: StepRetreats["last"],
  numbers: Numbers,
): RecoveryLine[] {
  const lines: RecoveryLine[] = [];
  // Outputs as the lines leave them; devices that the lines have brought somewhere.
  const outputs = new Map<string, Set<boolean>>();
  for (const signal of ground.outputs.keys()) outputs.set(signal, new Set(states.map((state) => state.output(signal))));
  const places = new Map<string, Set<string | undefined>>();
  for (const { device } of ground.devices.values())
    places.set(device.name, new Set(states.map((state) => state.position(device.name))));
  const add = (...more: readonly RecoveryLine[]) => {
    for (const line of more) {
      if (line.kind === "set") {
        const known = outputs.get(line.signal)!;
        if (line.only === undefined || line.only.length === 0) known.clear();
        known.add(line.to);
      }
      lines.push(line);
    }
  };
  const bring = (device: Device, position: string, only: readonly Answer[] = []) => {
    const known = places.get(device.name)!;
    const settled = known.size === 1 && known.has(position);
    if (settled) return;
    const made = bringLines(ground, device, position, states, known, numbers);
    add(...made.map((line) => (only.length === 0 ? line : { ...line, only: [...only, ...(line.only ?? [])] })));
    if (only.length === 0) known.clear();
    known.add(position);
  };
  const asked = (question: Question): readonly Answer[] | undefined => {
    const yes = states.filter((state) => state.answer(question)).length;
    if (yes === 0) return undefined;
    if (yes === states.length) return [];
    const line = told(ground, question, states, numbers.next());
    add(line);
    return [{ question: line.number, is: true }];
  };
  const only = (answers: readonly Answer[]) => (answers.length === 0 ? {} : { only: answers });

  for (const { gripper } of ground.grippers.values()) {
    const answers = asked({ kind: "gripper", gripper: gripper.name });
    if (answers === undefined) continue;
    add({ kind: "take out", gripper: gripper.name, ...only(answers) });
    bring(gripper.device, "open", answers);
  }
  const trays = new Set<string>();
  for (const spot of ground.spots) {
    const { holder, clamp, start } = spot;
    if (holder.kind === "tray" || (start > 0 && clamp === undefined)) {
      trays.add(holder.name);
      continue;
    }
    if (start > 0 && clamp !== undefined && states.some((state) => state.inSpot(spot) !== start)) {
      // A part of the wrong stage is taken out, too; then the clamp closes on the right one.
      const away = clamp.positions.find((position) => position !== clamp.clamps);
      const answers = asked({ kind: "holder", holder: holder.name });
      if (answers !== undefined) add({ kind: "take out", holder: holder.name, ...only(answers) });
      if (away !== undefined) bring(clamp, away);
      add({ kind: "refill", holder: holder.name });
      if (clamp.clamps !== undefined) bring(clamp, clamp.clamps);
      continue;
    }
    if (start > 0 || states.every((state) => state.inSpot(spot) === 0)) continue;
    const answers = asked({ kind: "holder", holder: holder.name })!;
    for (const { device } of ground.devices.values()) {
      const [open] = access.get(device.name) ?? [];
      if (open !== undefined && clamp !== undefined && device.machine === clamp.machine) bring(device, open, answers);
    }
    add({ kind: "take out", holder: holder.name, ...only(answers) });
    if (clamp === undefined) continue;
    const away = clamp.start === clamp.clamps ? clamp.positions.find((p) => p !== clamp.clamps) : clamp.start;
    if (away !== undefined) bring(clamp, away, answers);
  }
  // Clamps first, while a door may still be open; then what moves through zones.
  const devices = [...ground.devices.values()].map(({ device }) => device);
  for (const device of [...devices].sort((a, b) => a.sweeps.length - b.sweeps.length))
    bring(device, positionAtStart(ground, device.name));
  for (const [signal, levels] of outputs) {
    const initial = ground.cell.signals.get(signal)!.initial;
    if (levels.has(!initial)) add({ kind: "set", signal, to: initial });
  }
  for (const holder of trays) add({ kind: "refill", holder });
  if (last !== undefined && last.length > 0) lines.push({ kind: "move", retreats: [{ from: undefined, moves: last }] });
  lines.push({ kind: "restart" });
  return lines;
}

/** Questions whose answers tell states with different keys apart, and for each key the answers that lead to it. */
function separate(
  ground: Ground,
  states: readonly Facts[],
  keys: readonly string[],
  numbers: Numbers,
): {
  readonly questions: Extract<RecoveryLine, { kind: "ask" | "read" }>[];
  readonly rows: readonly { readonly key: string; readonly only: readonly Answer[] }[];
} {
  const distinct = [...new Set(keys)];
  if (distinct.length <= 1) return { questions: [], rows: distinct.map((key) => ({ key, only: [] })) };
  const chosen: Question[] = [];
  const signature = (state: Facts) => chosen.map((question) => (state.answer(question) ? 1 : 0)).join("");
  const candidates = questionsOf(ground, states);
  const muddled = () => {
    const seen = new Map<string, Set<string>>();
    for (const [i, state] of states.entries()) {
      const sign = signature(state);
      const known = seen.get(sign) ?? new Set();
      seen.set(sign, known.add(keys[i]!));
    }
    let count = 0;
    for (const set of seen.values()) count += set.size - 1;
    return count;
  };
  while (muddled() > 0) {
    let best: Question | undefined;
    let least = muddled();
    for (const candidate of candidates) {
      chosen.push(candidate);
      const left = muddled();
      chosen.pop();
      if (left < least) {
        least = left;
        best = candidate;
      }
    }
    // No question helps alone: take the first that is not put yet, for two together may.
    best ??= candidates.find((candidate) => !chosen.includes(candidate));
    if (best === undefined) break;
    chosen.push(best);
  }
  const questions = chosen.map((question) => told(ground, question, states, numbers.next()));
  const answersOf = (state: Facts): Answer[] =>
    questions.map(({ number, question }) => ({ question: number, is: state.answer(question) }));
  const rows = distinct.flatMap((key) => {
    const own = states.filter((_, i) => keys[i] === key).map(answersOf);
    const other = states.filter((_, i) => keys[i] !== key).map(answersOf);
    return conditions(own, other).map((only) => ({ key, only }));
  });
  // Those that end the procedure come first: nothing is done before.
  rows.sort((a, b) => Number(b.key.includes('"trained":"')) - Number(a.key.includes('"trained":"')));
  return { questions, rows };
}

/** Answers common to all of the own rows that none of the others has; where there are none, each own row whole. */
function conditions(own: readonly Answer[][], other: readonly Answer[][]): Answer[][] {
  const has = (row: readonly Answer[], answers: readonly Answer[]) =>
    answers.every(({ question, is }) => row.some((a) => a.question === question && a.is === is));
  const common = own[0]!.filter((answer) => own.every((row) => has(row, [answer])));
  if (!other.some((row) => has(row, common))) {
    // As few as will do.
    let few = common;
    for (const answer of common) {
      const less = few.filter((a) => a !== answer);
      if (!other.some((row) => has(row, less))) few = less;
    }
    return [few];
  }
  const seen = new Map(own.map((row) => [JSON.stringify(row), row]));
  return [...seen.values()];
}

/** Questions whose answers differ between the states; those that a signal answers first. */
function questionsOf(ground: Ground, states: readonly Facts[]): Question[] {
  const all: Question[] = [
    ...[...ground.devices.values()].flatMap(({ device }) =>
      device.positions.map((position): Question => ({ kind: "device", device: device.name, position })),
    ),
    ...[...ground.grippers.keys()].map((gripper): Question => ({ kind: "gripper", gripper })),
    ...ground.spots
      .filter(({ holder }) => holder.kind !== "tray")
      .map(({ holder }): Question => ({ kind: "holder", holder: holder.name })),
  ];
  const differing = all.filter((question) => {
    const yes = states.filter((state) => state.answer(question)).length;
    return yes > 0 && yes < states.length;
  });
  const isRead = (question: Question) => told(ground, question, states, 0).kind === "read";
  return [...differing.filter(isRead), ...differing.filter((question) => !isRead(question))];
}
