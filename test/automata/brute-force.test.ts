/** The explorer against brute force on random networks: seeds are the numbers of the networks. */
import { expect, it } from "vitest";
import { createNetwork, explore, type QueryDescription } from "../../src/proof/index.ts";
import { onGrid } from "./grid-time.ts";
import { reachableAtWholeTimes } from "./integer-time.ts";
import { LARGEST_CONSTANT, randomNetwork } from "./random-network.ts";
import { alwaysFollowed, deadlocked, followedWithin, regionGraph, timeCanPass } from "./regions.ts";
import { clauseHolds } from "./semantics.ts";

const everything: QueryDescription = { name: "everything", kind: "never", that: "false" };

it("reaches the same discrete states as whole-number times do, as early, on 1,000 networks with closed conditions", () => {
  let states = 0;
  let timed = 0;
  for (let seed = 1; seed <= 1000; seed++) {
    const options = { strict: false, diagonals: seed % 3 === 0, timedBroadcast: false, clocks: 1 + (seed % 2) };
    const description = randomNetwork(seed, options);
    const locations = Object.entries(description.automata).flatMap(([automaton, { locations: own }]) =>
      Object.keys(own).map((location): QueryDescription => {
        const that = `${automaton}.${location} and n != 1`;
        return { name: that, kind: "can reach", that };
      }),
    );
    const { network, queries } = createNetwork(description, [everything, ...locations]);
    const expected = reachableAtWholeTimes(network, LARGEST_CONSTANT + 2);
    const all = explore(network, queries.slice(0, 1), { reduce: false });
    expect(all.queries[0]!.verdict === "undecided" ? 0 : all.discreteStates, `network ${seed}`).toBe(expected.size);
    states += expected.size;
    if (expected.size === 0) continue;
    // Which locations can be reached, and how soon, with reduction.
    const found = explore(network, queries.slice(1), { trace: "fastest" });
    for (const [k, { verdict, trace }] of found.queries.entries()) {
      const query = queries[k + 1]!;
      if (!("that" in query)) throw new Error("not the query");
      const times = [...expected].flatMap(([text, time]) => {
        const s = text.split(",").map(Number);
        return query.that.some((clause) => clauseHolds(clause, s, () => true)) ? [time] : [];
      });
      expect(verdict, `network ${seed}, ${query.name}`).toBe(times.length > 0 ? "holds" : "violated");
      if (times.length === 0) continue;
      expect(trace!.at(-1)!.at, `network ${seed}, ${query.name}`).toBe(Math.min(...times));
      if (Math.min(...times) > 0) timed++;
    }
  }
  expect(states).toBeGreaterThan(5000);
  expect(timed).toBeGreaterThan(400);
});

const P = "a0.l1 and n != 2";
const Q = "a1.l0 or n = 1";
const questions: QueryDescription[] = [
  everything,
  { name: "deadlock", kind: "no deadlock" },
  { name: "followed", kind: "always followed by", when: P, goal: Q },
  { name: "within", kind: "always followed by", when: P, goal: Q, within: 2 },
  { name: "time", kind: "time can always pass" },
];

it("agrees with regions in dense time about states, deadlock, what follows (within a time), and time that passes, on 300 networks", () => {
  const counts = new Map<string, number>();
  for (let seed = 1; seed <= 300; seed++) {
    const options = { strict: true, diagonals: false, timedBroadcast: seed % 2 === 0, clocks: 1 + (seed % 2) };
    const { network, queries } = createNetwork(randomNetwork(10_000 + seed, options), questions);
    const cap = LARGEST_CONSTANT;
    const graph = regionGraph(network, cap, false);
    const found = explore(network, queries, { reduce: false });
    if (graph.states.length === 0) {
      expect(found.queries.map(({ verdict }) => verdict)).toEqual(queries.map(() => "undecided"));
      continue;
    }
    const followed = queries[2]!;
    if (followed.kind !== "always followed by") throw new Error("not the query");
    const verdicts = [
      new Set(graph.states.map(({ s }) => String(s))).size,
      !deadlocked(graph).includes(true),
      alwaysFollowed(network, cap, followed.trigger, followed.goal),
      followedWithin(network, cap, followed.trigger, followed.goal, 2),
      timeCanPass(network, cap),
    ];
    const [, ...answers] = found.queries.map(({ verdict }) => verdict === "holds");
    expect([found.discreteStates, ...answers], `network ${seed}`).toEqual(verdicts);
    const reduced = explore(network, queries).queries.map(({ verdict }) => verdict === "holds");
    expect(reduced.slice(1), `network ${seed}, reduced`).toEqual(answers);
    for (const [k, answer] of answers.entries()) {
      const key = `${k} ${answer}`;
      counts.set(key, (counts.get(key) ?? 0) + 1);
    }
  }
  // Both answers come often enough to mean something.
  for (const k of [0, 1, 2, 3])
    for (const answer of [true, false]) expect(counts.get(`${k} ${answer}`) ?? 0).toBeGreaterThan(15);
});

it("agrees with a grid of quarters about deadlock and time, where clocks are compared with one another, on 200 networks", () => {
  const counts = new Map<string, number>();
  for (let seed = 1; seed <= 200; seed++) {
    const options = { strict: seed % 2 === 0, diagonals: true, timedBroadcast: true, clocks: 2 };
    const { network, queries } = createNetwork(randomNetwork(50_000 + seed, options), [
      questions[1]!,
      questions.at(-1)!,
    ]);
    const { states, deadlock, timePasses } = onGrid(network, 4, LARGEST_CONSTANT + 3);
    if (states === 0) continue;
    const answers = explore(network, queries).queries.map(({ verdict }) => verdict === "holds");
    expect(answers, `network ${seed}`).toEqual([!deadlock, timePasses]);
    counts.set(String(answers), (counts.get(String(answers)) ?? 0) + 1);
  }
  expect(counts.get("true,true")).toBeGreaterThan(5);
  expect(counts.get("false,false")).toBeGreaterThan(15);
});
