/** Verdicts on published protocols; sources of the models are beside them in protocols.ts. */
import { describe, expect, it } from "vitest";
import { createNetwork, explore, type NetworkDescription, type QueryDescription } from "../../src/proof/index.ts";
import { csmaCd, fischer, tokenRing, trainGate } from "./protocols.ts";

function ask(description: NetworkDescription, queries: readonly QueryDescription[], reduce = true) {
  const { network, queries: built } = createNetwork(description, queries);
  return explore(network, built, { reduce });
}
const verdicts = (description: NetworkDescription, queries: readonly QueryDescription[]) =>
  Object.fromEntries(ask(description, queries).queries.map(({ name, verdict }) => [name, verdict]));
const everything: QueryDescription = { name: "everything", kind: "never", that: "false" };

describe("Fischer's protocol", () => {
  const exclusion: QueryDescription = { name: "exclusion", kind: "never", that: "count(process.critical) > 1" };

  // Discrete states (locations and id), computed by another explorer of zones.
  it.each([
    [2, 18],
    [3, 65],
    [4, 220],
    [5, 727],
  ])("is safe for %i processes, with %i discrete states", (processes, states) => {
    const result = ask(fischer({ processes, set: 2, wait: 2, strict: true }), [exclusion], false);
    expect([result.queries[0]!.verdict, result.discreteStates]).toEqual(["holds", states]);
  });

  it("is safe for 6 processes, and for 10 that may be exchanged", () => {
    expect(ask(fischer({ processes: 6, set: 2, wait: 2, strict: true }), [exclusion]).queries[0]!.verdict).toBe(
      "holds",
    );
    const many = fischer({ processes: 10, set: 2, wait: 2, strict: true, symmetric: true });
    expect(ask(many, [exclusion]).queries[0]!.verdict).toBe("holds");
  });

  it.each([
    [2, 1, 2, true, "holds"],
    [2, 2, 2, false, "violated"],
    [2, 3, 2, true, "violated"],
    [3, 2, 1, true, "violated"],
    [3, 1, 1, false, "violated"],
    [4, 2, 1, true, "violated"],
    [5, 2, 2, false, "violated"],
    [6, 2, 2, false, "violated"],
  ])("with %i processes, set %i, wait %i, strictly %s: %s", (processes, set, wait, strict, verdict) => {
    for (const symmetric of [false, true])
      expect(ask(fischer({ processes, set, wait, strict, symmetric }), [exclusion]).queries[0]!.verdict).toBe(verdict);
  });

  // The same source: discrete states of broken variants.
  it.each([
    [2, 2, false, 28],
    [3, 1, true, 152],
    [4, 1, true, 752],
  ])("broken with %i processes and wait %i reaches all its states", (processes, wait, strict, states) => {
    const result = ask(fischer({ processes, set: 2, wait, strict }), [everything], false);
    expect(result.discreteStates).toBe(states);
  });

  it("shows the shortest run of the broken one, at its earliest times", () => {
    const { trace } = ask(fischer({ processes: 2, set: 2, wait: 2, strict: false }), [exclusion]).queries[0]!;
    expect(trace!.map(({ at, moves }) => [at, ...moves.map(({ automaton, to }) => `${automaton} ${to}`)])).toEqual([
      [0],
      [0, "process[1] request"],
      [0, "process[2] request"],
      [0, "process[1] waiting"],
      [2, "process[1] critical"],
      [2, "process[2] waiting"],
      [4, "process[2] critical"],
    ]);
  });

  it("gives every process that runs alone its turn, but a process can be kept waiting for ever", () => {
    const followed: QueryDescription = {
      name: "turn",
      kind: "always followed by",
      when: "process[1].request",
      goal: "process[1].critical",
    };
    const { verdict, trace, loopFrom } = ask(fischer({ processes: 2, set: 2, wait: 2, strict: true }), [followed])
      .queries[0]!;
    expect(verdict).toBe("violated");
    expect(loopFrom).toBeLessThan(trace!.length);
  });
});

describe("train and gate", () => {
  const safe: QueryDescription = { name: "safe", kind: "never", that: "train.inside and not gate.down" };

  it("is safe with a delay of 1, with 8 discrete states, and not with 2, with 10", () => {
    expect(ask(trainGate(1), [safe]).queries[0]!.verdict).toBe("holds");
    expect(ask(trainGate(1), [everything], false).discreteStates).toBe(8);
    const bad = ask(trainGate(2), [safe]).queries[0]!;
    expect(bad.verdict).toBe("violated");
    expect(bad.trace!.at(-1)!.locations).toEqual({ train: "inside", gate: "lowering", controller: "idle" });
    expect(ask(trainGate(2), [everything], false).discreteStates).toBe(10);
  });

  it("lets the gate up again in time", () => {
    // After a train has left: 1 until the controller acts and 2 to go up; Alur and Dill, property of liveness.
    const up = (within: number): QueryDescription => ({
      name: `up within ${within}`,
      kind: "always followed by",
      when: "controller.left",
      goal: "gate.up",
      within,
    });
    expect(verdicts(trainGate(1), [up(3), up(2), { name: "deadlock", kind: "no deadlock" }])).toEqual({
      "up within 3": "holds",
      "up within 2": "violated",
      deadlock: "holds",
    });
  });
});

describe("CSMA/CD", () => {
  it.each([2, 3, 4, 5])(
    "with %i stations: after one propagation time nobody else is sending undisturbed",
    (stations) => {
      // Two that are both sending have begun less than one propagation time apart: the later one cannot have sent for that long when the
      // earlier has sent for two.
      const undetected: QueryDescription = {
        name: "undetected",
        kind: "never",
        that: "station[1].sending and station[1].x >= 2 * sigma and station[2].sending",
      };
      const started: QueryDescription = {
        name: "both begin",
        kind: "can reach",
        that: "station[1].sending and station[1].x >= sigma and station[2].sending",
      };
      expect(verdicts(csmaCd(stations), [undetected, started])).toEqual({ undetected: "holds", "both begin": "holds" });
    },
  );

  it("is not safe when the signal is slower than assumed in the detection", () => {
    const slow = csmaCd(2);
    const automata = { ...slow.automata };
    automata["bus"] = {
      ...automata["bus"]!,
      locations: { idle: {}, active: {}, jammed: { invariant: "y < 3 * sigma" } },
    };
    const undetected = "station[1].sending and station[1].x >= 2 * sigma and station[2].sending";
    expect(verdicts({ ...slow, automata }, [{ name: "undetected", kind: "never", that: undetected }])).toEqual({
      undetected: "violated",
    });
  });
});

describe("FDDI token ring", () => {
  const within = (station: number, bound: number) =>
    `station${station}.wait_y and station${station}.y > ${bound} or station${station}.wait_z and station${station}.z > ${bound}`;
  const sends = (station: number) =>
    `(${["send_y", "more_y", "send_z", "more_z"].map((l) => `station${station}.${l}`).join(" or ")})`;

  it.each([2, 3, 4])("with %i stations: one sends at a time, and rotations have their longest time", (stations) => {
    // By hand: the first may use up the whole target time; each other one then sends synchronously only.
    const longest = 50 * stations + 20 * (stations - 1);
    expect(
      verdicts(tokenRing(stations), [
        { name: "alone", kind: "never", that: `${sends(0)} and ${sends(1)}` },
        { name: "longer", kind: "never", that: within(0, longest) },
        { name: "as long", kind: "can reach", that: within(0, longest - 1) },
        { name: "time", kind: "time can always pass" },
      ]),
    ).toEqual({ alone: "holds", longer: "holds", "as long": "holds", time: "holds" });
  });
});
