/** What moves together, when time passes, and what the queries answer, on networks small enough to be followed by hand. */
import { describe, expect, it } from "vitest";
import { createNetwork } from "./build.ts";
import { type ExploreOptions, explore } from "./explore.ts";
import type { AutomatonDescription, EdgeDescription, NetworkDescription, QueryDescription } from "./model.ts";

const ask = (description: NetworkDescription, queries: readonly QueryDescription[], options?: ExploreOptions) => {
  const { network, queries: built } = createNetwork(description, queries);
  return explore(network, built, options);
};
const never = (that: string): QueryDescription => ({ name: that, kind: "never", that });
const reach = (that: string): QueryDescription => ({ name: that, kind: "can reach", that });
const verdicts = (description: NetworkDescription, ...queries: QueryDescription[]) =>
  ask(description, queries).queries.map(({ verdict }) => verdict);

/** Locations a, b, c … with edges written "a b". */
function chain(
  edges: readonly (Omit<EdgeDescription, "from" | "to"> & { way: string })[],
  more: Partial<AutomatonDescription> = {},
): AutomatonDescription {
  const names = [...new Set(edges.flatMap(({ way }) => way.split(" ")))].sort();
  return {
    locations: Object.fromEntries(names.map((name) => [name, {}])),
    edges: edges.map(({ way, ...edge }) => ({ from: way.split(" ")[0]!, to: way.split(" ")[1]!, ...edge })),
    ...more,
  };
}

describe("time", () => {
  it("passes up to an invariant and no farther", () => {
    const network = (guard: string): NetworkDescription => ({
      automata: {
        p: chain([{ way: "a b", guard }], { clocks: ["x"], locations: { a: { invariant: "x <= 5" }, b: {} } }),
      },
    });
    expect(verdicts(network("x >= 5"), reach("p.b"))).toEqual(["holds"]);
    expect(verdicts(network("x > 5"), reach("p.b"))).toEqual(["violated"]);
  });

  it("stands still in urgent and committed locations, and a committed one moves first", () => {
    const p = (kind: "ordinary" | "urgent" | "committed"): AutomatonDescription =>
      chain([{ way: "a b" }], { clocks: ["x"], locations: { a: { kind }, b: {} } });
    const other = chain([{ way: "a b" }]);
    const questions = [reach("p.a and p.x > 0"), reach("p.a and other.b")];
    const answers = (kind: "ordinary" | "urgent" | "committed") =>
      verdicts({ automata: { p: p(kind), other } }, ...questions);
    expect(answers("ordinary")).toEqual(["holds", "holds"]);
    expect(answers("urgent")).toEqual(["violated", "holds"]);
    expect(answers("committed")).toEqual(["violated", "violated"]);
  });

  it("stands still while an urgent channel is ready, on both sides", () => {
    const network = (urgent: boolean, guard: string): NetworkDescription => ({
      clocks: ["x"],
      variables: { n: { range: [0, 1] } },
      channels: { go: { kind: "pair", urgent } },
      automata: { p: chain([{ way: "a b", send: "go", guard }]), q: chain([{ way: "a b", receive: "go" }]) },
    });
    const late = reach("p.a and x > 0");
    expect(verdicts(network(true, "n = 0"), late)).toEqual(["violated"]);
    expect(verdicts(network(true, "n = 1"), late)).toEqual(["holds"]);
    expect(verdicts(network(false, "n = 0"), late)).toEqual(["holds"]);
  });

  it("is kept apart by resets to values and by clocks compared with one another", () => {
    const p = chain(
      [
        { way: "a b", reset: { y: 2 } },
        { way: "b c", guard: "x - y = 3 and y <= 4" },
      ],
      { clocks: ["x", "y"] },
    );
    const { queries } = ask({ automata: { p } }, [reach("p.c"), reach("p.c and p.x < 5"), reach("p.b and p.y < 2")]);
    expect(queries.map(({ verdict }) => verdict)).toEqual(["holds", "violated", "violated"]);
    expect(queries[0]!.trace!.map(({ at }) => at)).toEqual([0, 5, 5]);
  });

  it("can be told to have an invariant only while a condition holds", () => {
    const p = chain([{ way: "a b", guard: "x > 3" }], {
      clocks: ["x"],
      variables: { on: { range: [0, 1], start: 1 } },
      locations: { a: { invariant: "on = 1 implies x <= 3" }, b: {} },
    });
    const off = { ...p, variables: { on: { range: [0, 1] as const, start: 0 } } };
    expect(verdicts({ automata: { p } }, reach("p.b"))).toEqual(["violated"]);
    expect(verdicts({ automata: { p: off } }, reach("p.b"))).toEqual(["holds"]);
  });
});

describe("channels", () => {
  it("a pair moves together: sender's updates first, guards read before the move", () => {
    const network: NetworkDescription = {
      variables: { n: { range: [0, 9] }, m: { range: [0, 9] } },
      channels: { go: { kind: "pair" } },
      automata: {
        p: chain([{ way: "a b", send: "go", update: ["n := 4"] }]),
        q: chain([{ way: "a b", receive: "go", guard: "n = 0", update: ["m := n + 1"] }]),
      },
    };
    expect(verdicts(network, reach("m = 5"), never("p.b and q.a"))).toEqual(["holds", "holds"]);
  });

  it("a broadcast takes along all that can receive, and only those, also where clocks decide", () => {
    const network: NetworkDescription = {
      clocks: ["x"],
      channels: { all: { kind: "broadcast" } },
      automata: {
        p: chain([{ way: "a b", send: "all" }]),
        q: chain([{ way: "a b", receive: "all", guard: "x >= 2" }]),
        r: chain([{ way: "a b", receive: "all" }]),
      },
    };
    expect(
      verdicts(network, never("p.b and r.a"), reach("p.b and q.a"), reach("q.b"), never("p.b and q.b and x < 2")),
    ).toEqual(["holds", "holds", "holds", "holds"]);
    // At the moment of the move itself: nothing lets time pass afterwards.
    const still = {
      ...network,
      automata: {
        ...network.automata,
        p: { ...network.automata["p"]!, locations: { a: {}, b: { kind: "urgent" as const } } },
      },
    };
    expect(verdicts(still, reach("p.b and q.a and x >= 2"), reach("p.b and q.a and x < 2"))).toEqual([
      "violated",
      "holds",
    ]);
  });

  it("elements of an array are channels of their own, chosen when the move is made", () => {
    const network: NetworkDescription = {
      variables: { which: { range: [0, 2], start: 2 } },
      channels: { go: { kind: "pair", size: 3 } },
      automata: {
        p: chain([{ way: "a b", send: "go[which]" }]),
        q: { copies: 2, locations: { a: {}, b: {} }, edges: [{ from: "a", to: "b", receive: "go[self]" }] },
      },
    };
    const { queries } = ask(network, [reach("q[2].b"), reach("q[1].b")]);
    expect(queries.map(({ verdict }) => verdict)).toEqual(["holds", "violated"]);
    expect(queries[0]!.trace!.at(-1)!.moves.map(({ automaton, channel, role }) => [automaton, channel, role])).toEqual([
      ["p", "go[2]", "send"],
      ["q[2]", "go[2]", "receive"],
    ]);
  });
});

describe("queries", () => {
  const light: NetworkDescription = {
    automata: {
      light: chain(
        [
          { way: "red green", guard: "x >= 2", reset: { x: 0 } },
          { way: "green red", guard: "x >= 3", reset: { x: 0 } },
        ],
        { clocks: ["x"], locations: { red: { invariant: "x <= 4" }, green: { invariant: "x <= 6" } } },
      ),
    },
  };
  const followed = (when: string, goal: string, within?: number): QueryDescription => ({
    name: `${when} ${goal} ${within}`,
    kind: "always followed by",
    when,
    goal,
    ...(within === undefined ? {} : { within }),
  });

  it("what is always followed, with the longest time exact", () => {
    const questions = [
      followed("light.red", "light.green"),
      followed("light.red", "light.green", 4),
      followed("light.red", "light.green", 3),
    ];
    const { queries } = ask(light, questions);
    expect(queries.map(({ verdict }) => verdict)).toEqual(["holds", "holds", "violated"]);
    expect(queries[2]!.trace!.at(-1)!.at).toBeGreaterThan(3);
    expect(
      verdicts(
        light,
        followed("light.red and light.x >= 1", "light.green", 3),
        followed("light.red and light.x >= 1", "light.green", 2),
      ),
    ).toEqual(["holds", "violated"]);
  });

  it("what can be put off for ever, get stuck, or go round", () => {
    const idle = chain([{ way: "a b" }]);
    const stuck = chain([{ way: "a b", guard: "x > 1" }], {
      clocks: ["x"],
      locations: { a: { invariant: "x <= 1" }, b: {} },
    });
    const round = chain([{ way: "a b", guard: "x >= 1", reset: { x: 0 } }, { way: "b a" }, { way: "b c" }], {
      clocks: ["x"],
      locations: { a: { invariant: "x <= 1" }, b: { kind: "urgent" }, c: {} },
    });
    const ofP = (p: AutomatonDescription, goal: string) =>
      ask({ automata: { p } }, [followed("p.a", goal)]).queries[0]!;
    expect(ofP(idle, "p.b").verdict).toBe("violated");
    expect(ofP(stuck, "p.b")).toMatchObject({
      verdict: "violated",
      reason: "the run gets stuck: nothing can ever move again",
    });
    const around = ofP(round, "p.c");
    expect(around.verdict).toBe("violated");
    expect(around.trace!.slice(around.loopFrom).length).toBeGreaterThan(2);
    // Moves without end in no time are no run that counts.
    const zeno = chain([{ way: "a a" }, { way: "a b" }], {
      clocks: ["x"],
      locations: { a: { invariant: "x <= 1" }, b: {} },
    });
    expect(ofP(zeno, "p.b").verdict).toBe("holds");
  });

  it("deadlock: no move now or ever, whatever the clocks", () => {
    const dead: QueryDescription = { name: "dead", kind: "no deadlock" };
    expect(verdicts(light, dead)).toEqual(["holds"]);
    const late = chain(
      [
        { way: "a b", guard: "x <= 3" },
        { way: "b a", reset: { x: 0 } },
      ],
      { clocks: ["x"] },
    );
    const { verdict, trace } = ask({ automata: { late } }, [dead]).queries[0]!;
    expect(verdict).toBe("violated");
    expect(trace!.at(-1)!.clocks["late.x"]).toBeGreaterThan(3);
  });

  it("time that cannot always pass: stopped by an invariant, or only by moves without end", () => {
    const time: QueryDescription = { name: "time", kind: "time can always pass" };
    expect(verdicts(light, time)).toEqual(["holds"]);
    const stop = chain([{ way: "a b", guard: "x <= 1" }], {
      clocks: ["x"],
      locations: { a: { invariant: "x <= 2" }, b: {} },
    });
    const stopped = ask({ automata: { stop } }, [time]).queries[0]!;
    expect(stopped.verdict).toBe("violated");
    expect(stopped.trace!.at(-1)!.clocks["stop.x"]).toBeGreaterThan(1);
    const zeno = chain([{ way: "a a" }], { clocks: ["x"], locations: { a: { invariant: "x <= 2" } } });
    expect(verdicts({ automata: { zeno } }, time, { name: "dead", kind: "no deadlock" })).toEqual([
      "violated",
      "holds",
    ]);
  });

  it("the fastest run takes more moves and less time than the shortest", () => {
    const p = chain(
      [
        { way: "a d", guard: "x >= 9" },
        { way: "a b", guard: "x > 1" },
        { way: "b c" },
        { way: "c d", guard: "x >= 2" },
      ],
      {
        clocks: ["x"],
      },
    );
    const run = (trace: "shortest" | "fastest") =>
      ask({ automata: { p } }, [reach("p.d")], { trace }).queries[0]!.trace!.map(({ at }) => at);
    expect(run("shortest")).toEqual([0, 9]);
    expect(run("fastest")).toEqual([0, 1.1, 1.1, 2]);
  });

  it("the shortest run has no moves that were merely followed first", () => {
    const automata = {
      q: chain([{ way: "a b" }, { way: "b c" }]),
      p: chain([{ way: "a b" }]),
      r: chain([{ way: "a b" }]),
    };
    const { queries, states } = ask({ automata }, [reach("p.b"), never("p.b and p.a")]);
    expect(queries[0]!.trace!.length).toBe(2);
    // One order of the moves of q, p and r in place of all: 3 × 2 × 2 states without reduction, 12 again for the run.
    expect(ask({ automata }, [never("p.b and p.a")]).states).toBeLessThan(12);
    expect(states).toBeGreaterThan(0);
  });

  it("times are exact decimals where several bounds may not be reached", () => {
    const p = chain(
      [
        { way: "a b", guard: "x > 1", reset: { y: 0 } },
        { way: "b c", guard: "y > 0 and x < 2" },
      ],
      { clocks: ["x", "y"] },
    );
    expect(ask({ automata: { p } }, [reach("p.c")]).queries[0]!.trace!.map(({ at }) => at)).toEqual([0, 1.1, 1.2]);
  });
});

describe("what ends early", () => {
  const counter = (most: number): NetworkDescription => ({
    variables: { n: { range: [0, 1000] }, m: { range: [0, 1000] } },
    automata: {
      p: chain([{ way: "a a", guard: `n < ${most}`, update: ["n := n + 1"] }]),
      q: chain([{ way: "a a", guard: `m < ${most}`, update: ["m := m + 1"] }]),
    },
  });

  it("a memory limit leaves queries undecided, and says so", () => {
    const { verdict, reason } = ask(counter(1000), [never("n + m = 2001")], { memory: 2 ** 20 }).queries[0]!;
    expect(verdict).toBe("undecided");
    expect(reason).toContain("more states than fit into 1 MiB");
    expect(ask(counter(1000), [never("n = 3")], { memory: 2 ** 20 }).queries[0]!.verdict).toBe("violated");
  });

  it("every kind of query can be cancelled", () => {
    const questions: QueryDescription[] = [
      never("n + m = 2001"),
      { name: "dead", kind: "no deadlock" },
      { name: "followed", kind: "always followed by", when: "n = 999", goal: "m = 999" },
      { name: "time", kind: "time can always pass" },
    ];
    const { queries } = ask(counter(1000), questions, { cancelled: () => true });
    for (const { verdict, reason } of queries)
      expect([verdict, reason]).toEqual(["undecided", "stopped before all states were seen"]);
  });

  it("tells states and frontier while it runs", () => {
    const told: number[][] = [];
    ask(counter(100), [never("n + m = 2001")], { onProgress: (states, frontier) => told.push([states, frontier]) });
    expect(told.length).toBeGreaterThan(3);
    expect(told.at(-1)).toEqual([101 * 101, 0]);
  });

  it("a value outside its range is shown with the run that leads to it", () => {
    const p = chain([{ way: "a a", update: ["n := n + 1"] }], { variables: { n: { range: [0, 2] } } });
    const [first, second] = ask({ automata: { p } }, [never("p.n = 5"), reach("p.n = 2")]).queries;
    expect(first).toMatchObject({ verdict: "undecided" });
    expect(first!.reason).toContain('"n := n + 1" gives p.n the value 3, outside its range 0 to 2');
    expect(first!.trace!.at(-1)!.variables).toEqual({ "p.n": 2 });
    expect(second!.verdict).toBe("holds");
  });

  it("a start that breaks an invariant is no start", () => {
    const p = chain([{ way: "a b" }], {
      variables: { n: { range: [0, 1] } },
      locations: { a: { invariant: "n = 1" }, b: {} },
    });
    expect(ask({ automata: { p } }, [never("p.b")]).queries[0]).toMatchObject({
      verdict: "undecided",
      reason: expect.stringContaining("the start breaks an invariant"),
    });
  });
});

it("answers the same, with the same runs, every time", () => {
  const p = (k: number) =>
    chain(
      [
        { way: "a b", guard: `x${k} > ${k}` },
        { way: "b a", reset: { [`x${k}`]: 0 } },
      ],
      { clocks: [`x${k}`] },
    );
  const network = { automata: { p0: p(0), p1: p(1), p2: p(2) } };
  const questions = [reach("p0.b and p1.b and p2.b"), { name: "dead", kind: "no deadlock" } as const];
  expect(JSON.stringify(ask(network, questions))).toBe(JSON.stringify(ask(network, questions)));
});
