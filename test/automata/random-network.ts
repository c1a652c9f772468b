/** Small random networks for comparisons. */
import type {
  AutomatonDescription,
  EdgeDescription,
  LocationDescription,
  NetworkDescription,
} from "../../src/proof/index.ts";

/** Mulberry32: whole numbers below n. */
export function dice(seed: number): (n: number) => number {
  let state = seed >>> 0;
  return (n) => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) % n;
  };
}

export interface RandomOptions {
  readonly strict: boolean;
  readonly diagonals: boolean;
  /** Receivers of broadcasts may look at clocks. */
  readonly timedBroadcast: boolean;
  readonly clocks: number;
}

/** Largest constant of a random network. */
export const LARGEST_CONSTANT = 3;

export function randomNetwork(seed: number, options: RandomOptions): NetworkDescription {
  const roll = dice(seed);
  const pick = <T>(list: readonly T[]): T => list[roll(list.length)]!;
  const count = 2 + roll(2);
  const clocks = Array.from({ length: options.clocks }, (_, k) => `x${k}`);
  const constant = () => roll(LARGEST_CONSTANT + 1);
  const channels = {
    c: { kind: "pair" as const, urgent: roll(4) === 0 },
    d: { kind: "broadcast" as const, urgent: roll(6) === 0 },
  };
  const condition = (): string => {
    if (options.diagonals && clocks.length > 1 && roll(3) === 0)
      return `${clocks[0]} - ${clocks[1]} ${pick(["<=", ">="])} ${constant() - 1}`;
    const ops = options.strict ? ["<", "<=", ">", ">=", "="] : ["<=", ">=", "="];
    return `${pick(clocks)} ${pick(ops)} ${constant()}`;
  };
  const automata: Record<string, AutomatonDescription> = {};
  for (let a = 0; a < count; a++) {
    const size = 2 + roll(3);
    const locations: Record<string, LocationDescription> = {};
    for (let l = 0; l < size; l++) {
      const kind = roll(8) === 0 ? "urgent" : roll(10) === 0 ? "committed" : "ordinary";
      const upper =
        roll(2) === 0
          ? `${pick(clocks)} ${options.strict && roll(3) === 0 ? "<" : "<="} ${1 + roll(LARGEST_CONSTANT)}`
          : undefined;
      const invariant = upper === undefined ? undefined : roll(5) === 0 ? `n = 1 implies ${upper}` : upper;
      locations[`l${l}`] = { kind, ...(invariant === undefined ? {} : { invariant }) };
    }
    const edges: EdgeDescription[] = [];
    for (let e = 0; e < size + 1 + roll(3); e++) {
      const sync = roll(5);
      const role =
        sync === 0
          ? { send: "c" }
          : sync === 1
            ? { receive: "c" }
            : sync === 2 && roll(2) === 0
              ? { send: "d" }
              : sync === 2
                ? { receive: "d" }
                : {};
      const used = Object.values(role)[0] as "c" | "d" | undefined;
      const withClock =
        (used === undefined || !channels[used].urgent) &&
        ("receive" in role && used === "d" ? options.timedBroadcast : true);
      const guards = [
        ...(withClock && roll(2) === 0 ? [condition()] : []),
        ...(roll(4) === 0 ? [`n ${pick(["=", "!="])} ${roll(3)}`] : []),
        ...(withClock && roll(12) === 0 ? [`(${condition()} or n = ${roll(3)})`] : []),
      ];
      edges.push({
        from: `l${e < size - 1 ? e : roll(size)}`,
        to: `l${e < size - 1 ? e + 1 : roll(size)}`,
        ...role,
        ...(guards.length > 0 ? { guard: guards.join(" and ") } : {}),
        ...(roll(2) === 0 ? { reset: { [pick(clocks)]: roll(4) === 0 ? 1 : 0 } } : {}),
        ...(roll(3) === 0 ? { update: [pick(["n := (n + 1) mod 3", "n := 0", "n := if n = 2 then 1 else 2"])] } : {}),
      });
    }
    automata[`a${a}`] = { locations, edges };
  }
  return { variables: { n: { range: [0, 2] } }, clocks, channels, automata };
}
