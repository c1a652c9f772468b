/** Random networks with symmetric copies: the same answers with one state kept for all orders of the copies, and fewer states. */
import { expect, it } from "vitest";
import {
  createNetwork,
  type EdgeDescription,
  explore,
  type NetworkDescription,
  type QueryDescription,
} from "../../src/proof/index.ts";
import { dice } from "./random-network.ts";

function symmetricNetwork(seed: number): NetworkDescription {
  const roll = dice(seed);
  const pick = <T>(list: readonly T[]): T => list[roll(list.length)]!;
  const size = 3 + roll(2);
  const edges = Array.from({ length: size + 2 }, (_, e): EdgeDescription => {
    const role = pick<object>([{}, {}, {}, { send: "c" }, { receive: "c" }, { receive: "d" }, { send: "d" }]);
    const guards = [
      ...(roll(2) === 0 ? [pick(["id = 0", "id = self", "id != self", "own = self", "own = id"])] : []),
      ...(roll(2) === 0 ? [`x ${pick(["<", "<=", ">", ">="])} ${1 + roll(2)}`] : []),
      ...(roll(4) === 0 ? [`count(p.l1) < ${1 + roll(2)}`] : []),
    ];
    const shared = "receive" in role && role.receive === "d" ? [] : ["id := self", "id := 0", "id := own"];
    return {
      from: `l${e < size - 1 ? e : roll(size)}`,
      to: `l${e < size - 1 ? e + 1 : roll(size)}`,
      ...role,
      ...(guards.length > 0 ? { guard: guards.join(" and ") } : {}),
      ...(roll(2) === 0 ? { reset: { x: 0 } } : {}),
      ...(roll(2) === 0 ? { update: [pick([...shared, "own := id", "own := self", "own := 0", "k := 1 - k"])] } : {}),
    };
  });
  return {
    variables: { id: { range: [0, 3], numbers: "p" } },
    channels: { c: { kind: "pair" }, d: { kind: "broadcast" } },
    automata: {
      p: {
        copies: 3,
        symmetric: true,
        clocks: ["x"],
        variables: { own: { range: [0, 3], numbers: "p" }, k: { range: [0, 1] } },
        locations: Object.fromEntries(
          Array.from({ length: size }, (_, l) => [
            `l${l}`,
            roll(3) === 0 ? { invariant: "x <= 2" } : roll(9) === 0 ? { kind: "urgent" as const } : {},
          ]),
        ),
        edges,
      },
    },
  };
}

it("answers as without symmetry on 200 networks, with runs that replay, and with fewer states", () => {
  const questions: QueryDescription[] = [
    ...[
      "count(p.l1) > 1",
      "count(p.l2) > 0 and id = 0",
      "count(p.l2) > 1 and id != 0",
      "count(p.l1) = 1 and count(p.l2) = 2",
    ].map((that): QueryDescription => ({ name: that, kind: "can reach", that })),
    { name: "all", kind: "never", that: "false" },
    { name: "dead", kind: "no deadlock" },
  ];
  const counts: Record<string, number> = {};
  let [fewer, all] = [0, 0];
  for (let seed = 1; seed <= 200; seed++) {
    const { network, queries } = createNetwork(symmetricNetwork(seed), questions);
    const plain = explore(network, queries, { reduce: false });
    const reduced = explore(network, queries);
    for (const [k, { name, verdict, trace }] of plain.queries.entries()) {
      const other = reduced.queries[k]!;
      expect(other.verdict, `network ${seed}, ${name}`).toBe(verdict);
      // The shortest runs have the same number of moves.
      const moves = (steps: typeof trace) => steps?.filter((step) => step.moves.length > 0).length;
      if (name !== "dead") expect(moves(other.trace), `network ${seed}, ${name}`).toBe(moves(trace));
      counts[`${k < 4 ? "reach" : name} ${verdict}`] = (counts[`${k < 4 ? "reach" : name} ${verdict}`] ?? 0) + 1;
    }
    fewer += reduced.states;
    all += plain.states;
  }
  for (const key of ["reach holds", "reach violated", "dead holds", "dead violated"])
    expect(counts[key] ?? 0, key).toBeGreaterThan(10);
  expect(fewer).toBeLessThan(0.5 * all);
});
