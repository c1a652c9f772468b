/** Untimed networks against SPIN (Debian's package spin): the same states, the same moves, the same verdicts. */
import { expect, it } from "vitest";
import { tendingNetwork } from "../../bench/tending-network.ts";
import { createNetwork, explore, type NetworkDescription } from "../../src/proof/index.ts";
import { asOneProcess, asProcesses } from "../reference/spin/promela.ts";
import { askSpin, spinMissing } from "../reference/spin/run.ts";
import { dice } from "./random-network.ts";

const missing = spinMissing();
const NETWORKS = 16;

/** A random network without clocks and urgency, with arrays, channels of arrays, broadcasts and committed locations. */
function untimed(seed: number): NetworkDescription {
  const roll = dice(seed);
  const pick = <T>(list: readonly T[]): T => list[roll(list.length)]!;
  const value = () => pick(["n", "q[n mod 3]", "q[1]", "1", "(n + q[0]) mod 3", "(if n > 1 then q[2] else 0)"]);
  const automata: Record<string, object> = {};
  for (let a = 0; a < 3; a++) {
    const size = 2 + roll(3);
    automata[`a${a}`] = {
      locations: Object.fromEntries(
        Array.from({ length: size }, (_, l) => [`l${l}`, { kind: roll(9) === 0 ? "committed" : "ordinary" }]),
      ),
      edges: Array.from({ length: size + 3 }, (_, e) => {
        const sync = roll(6);
        const index = pick(["0", "1", "n mod 2"]);
        const role = [{ send: `c[${index}]` }, { receive: `c[${index}]` }, { send: "d" }, { receive: "d" }, {}, {}][
          sync
        ]!;
        return {
          from: `l${e < size - 1 ? e : roll(size)}`,
          to: `l${e < size - 1 ? e + 1 : roll(size)}`,
          ...role,
          ...(roll(3) === 0
            ? { guard: `${value()} ${pick(["=", "!=", "<", ">="])} ${roll(3)} ${pick(["and", "or"])} n != ${roll(3)}` }
            : {}),
          ...(roll(2) === 0
            ? {
                update: [
                  pick([`n := (${value()} + 1) mod 3`, `q[n mod 3] := ${value()}`, `q[${roll(3)}] := ${roll(3)}`]),
                ],
              }
            : {}),
        };
      }),
    };
  }
  return {
    variables: { n: { range: [0, 2] }, q: { range: [0, 2], size: 3 } },
    channels: { c: { kind: "pair", size: 2 }, d: { kind: "broadcast" } },
    automata: automata as NetworkDescription["automata"],
  };
}

it.skipIf(missing !== undefined)(
  `agrees with SPIN on ${NETWORKS} random networks${missing === undefined ? "" : ` (skipped: ${missing})`}`,
  () => {
    let violated = 0;
    let states = 0;
    for (let seed = 1; seed <= NETWORKS; seed++) {
      const wanted = seed % 2 === 0 ? "a0.l1 and a1.l1 and n = 2" : "q[0] = 2 and a2.l1";
      const { network, queries } = createNetwork(untimed(seed), [
        { name: "wanted", kind: "never", that: wanted },
        { name: "all", kind: "never", that: "false" },
      ]);
      const never = queries[0]!;
      if (never.kind !== "never") throw new Error("not the query");
      const all = explore(network, [queries[1]!], { reduce: false });
      // Not stopping at the assertion: all states are counted.
      const theirs = askSpin(
        asOneProcess(network, never.that),
        ["-O0", "-DSAFETY", "-DNOREDUCE"],
        ["-m100000", "-E", "-w16", "-c0"],
      );
      // SPIN's process init has a state before it starts the network, and one after.
      expect(theirs.states - all.states, `network ${seed}`).toBe(2);
      for (const reduce of [true, false])
        expect(explore(network, [never], { reduce }).queries[0]!.verdict, `network ${seed}`).toBe(
          theirs.violated ? "violated" : "holds",
        );
      violated += Number(theirs.violated);
      states += all.states;
    }
    expect(states).toBeGreaterThan(300);
    expect(violated).toBeGreaterThan(2);
    expect(violated).toBeLessThan(NETWORKS - 3);
  },
);

it.skipIf(missing !== undefined)("has the states and moves of SPIN on a tending cell written as processes", () => {
  const { network, queries } = createNetwork(tendingNetwork(2, 3), [{ name: "all", kind: "never", that: "false" }]);
  const ours = explore(network, queries, { reduce: false });
  const theirs = askSpin(asProcesses(network), ["-O1", "-DSAFETY", "-DNOREDUCE"], ["-m100000", "-E", "-w18"]);
  expect([theirs.states, theirs.transitions]).toEqual([ours.states, ours.moves]);
});
