/** The automata file: what it may say, and each mistake planted in it with its place, what was expected and how to mend it. */
import { readdirSync, readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { formatIssue } from "../../cell/issue.ts";
import { explore } from "./explore.ts";
import { readAutomataFile } from "./read-file.ts";

const good = `network: a door
constants: { slow: 4 }
variables:
  n: { range: [0, slow] }
  queue: { range: [0, 2], size: 3 }
clocks: [t]
channels:
  open: pair
  all: { kind: broadcast, urgent: no, size: 2 }
automata:
  door:
    clocks: [x]
    locations:
      shut:
      opening: { invariant: x <= slow }
      wide: { kind: urgent }
    edges:
      - { from: shut, to: opening, receive: open, reset: x }
      - { from: opening, to: wide, guard: x >= 1 and n = 0, reset: { x: 2 }, update: "n := n + 1" }
      - { from: wide, to: shut, update: ["queue[n] := 1", "n := 0"] }
  hand:
    copies: 2
    variables: { busy: { range: [0, 1] } }
    locations: { here: , there: }
    edges:
      - { from: here, to: there, guard: "busy = 0", send: open, label: push }
queries:
  it opens: { can reach: door.wide }
  not both: { never: "hand[1].there and hand[2].there and not door.shut and t < 0" }
  it ends: { when: door.opening, always followed by: door.shut, within: slow }
  alive: no deadlock
`;

const issuesOf = (text: string) => {
  const read = readAutomataFile(text, "net.yaml");
  return read.ok ? [] : read.issues.map(formatIssue);
};

it("reads everything that a file may say", () => {
  expect(issuesOf(good)).toEqual([]);
  const read = readAutomataFile(good, "net.yaml");
  if (!read.ok) throw new Error("not read");
  const { queries } = explore(read.value.network, read.value.queries);
  expect(queries.map(({ name, verdict }) => [name, verdict])).toEqual([
    ["it opens", "holds"],
    ["not both", "holds"],
    ["it ends", "holds"],
    ["alive", "violated"],
  ]);
});

describe("mistakes", () => {
  // ¦ stands where the mistake is to be found.
  it.each<[string, string, string]>([
    ["constants: { slow: 4 }", "constants: { slow: ¦4 s }", "found 4 s; expected a whole number"],
    [
      "range: [0, slow]",
      "range: [0, ¦slowly]",
      "found slowly; expected a variable, clock, constant or automaton (there is slow). Did you mean slow?",
    ],
    ["range: [0, 2], size: 3", "¦range: [2, 0], size: 3", "found 2 to 0; expected the smallest value first"],
    ["range: [0, 2], size: 3", "range: [0, 2], start: ¦5, size: 3", "found 5; expected a value from 0 to 2"],
    ["range: [0, 2], size: 3", "range: [0, 2], size: ¦0", "found 0; expected a number from 1 to 4096"],
    ["clocks: [t]", "clocks: [¦n]", "found n, already the name of a variable"],
    ["clocks: [t]", "clocks: [¦not]", "not is a word of the language"],
    ["open: pair", "open: ¦par", "found par; expected one of pair, broadcast. Did you mean pair?"],
    ["open: pair", "open: { kind: pair, ¦urgend: yes }", "found urgend; expected a key of a channel"],
    ["shut:\n", "¦2nd:\n", "found 2nd; expected a name of letters"],
    ["x <= slow }", "x <= slow and¦ }", "found the end of the formula; expected a number, a name or ("],
    ["x <= slow }", "¦y <= slow }", "found y; expected a variable, clock, constant or automaton"],
    ["x <= slow }", "x + x ¦<= slow }", "found a sum of clocks; expected a clock, or the difference of two clocks"],
    ["x <= slow }", "x <= ¦2.5 }", "found 2.5; expected a whole number. Write a whole number; choose a smaller unit"],
    ["x <= slow }", "x <= 5 ¦s }", "Leave out the unit"],
    ["x <= slow }", "x <= 3 ¦or x >= 4 }", "found alternatives of clock conditions"],
    ["kind: urgent", "kind: ¦urgend", "Did you mean urgent?"],
    [
      "to: opening, receive",
      "to: ¦openign, receive",
      "found openign; expected a location of the automaton (shut, opening, wide). Did you mean opening?",
    ],
    [
      "receive: open, reset: x }",
      "receive: ¦opne, reset: x }",
      "found opne; expected the name of a channel (there are open, all). Did you mean open?",
    ],
    [
      "receive: open, reset: x }",
      'receive: "¦all", reset: x }',
      "found all without index; expected an element, such as all[0]",
    ],
    ["receive: open, reset: x }", 'receive: "all[¦2]", reset: x }', "found element 2; expected 0 to 1"],
    [
      "receive: open, reset: x }",
      "receive: ¦open, send: open }",
      "found send and receive together; expected one of them",
    ],
    ["reset: x }", "reset: ¦n }", "found n; expected a clock"],
    ["x >= 1 and n = 0", "x >= 1 ¦& n = 0", "found &; expected an operator, or the end. Write and for &."],
    ["x >= 1 and n = 0", "x >= 1 and ¦n", "found n, a variable; expected a condition. Compare it: n = 1."],
    ["x >= 1 and n = 0", "x >= 1 and n ¦:= 0", "Write = to compare; := is for updates."],
    ["x >= 1 and n = 0", "1 <= x ¦<= 2", "Join two comparisons with and."],
    ["x >= 1 and n = 0", "x >= 1 and ¦door", "found door, an automaton; expected a location of it. Write door.shut."],
    ["x >= 1 and n = 0", "x >= ¦queue", "found queue without index"],
    ["x >= 1 and n = 0", "¦x - t >= n", "found a difference of clocks compared with a value that depends on the state"],
    ["reset: { x: 2 }", "reset: { x: ¦-2 }", "found -2; expected a value from 0"],
    ['"n := n + 1"', '"n ¦= n + 1"', "found =; expected := after the variable. Write it as: n := n + 1."],
    ['"n := n + 1"', '"¦x := 0"', "found x, a clock; expected a variable. Write reset: { x: 0 }."],
    ['"n := n + 1"', '"n := ¦9"', "found 9; expected a value of n, 0 to 4"],
    ['"queue[n] := 1"', '"queue[¦3] := 1"', "found element 3; expected 0 to 2"],
    ["copies: 2", "copies: ¦0", "found 0; expected a number from 1 to 64"],
    ["busy = 0", "¦busi = 0", "found busi; expected a variable, clock, constant or automaton"],
    ["door.wide }", "¦dor.wide }", "found dor; expected an automaton (there are door, hand). Did you mean door?"],
    [
      "door.wide }",
      "¦door.wise }",
      "found wise; expected a location of door (there are shut, opening, wide, x). Did you mean wide?",
    ],
    ["hand[1].there and", "¦hand.there and", "found hand without the number of a copy"],
    ["hand[1].there and", "hand[¦3].there and", "found copy 3; expected 1 to 2"],
    [
      "followed by: door.shut",
      "followed by: door.x ¦> 1",
      "found a clock condition; expected a condition without clocks",
    ],
    ["within: slow", "within: ¦n", "found a value that depends on the state; expected a number or a constant"],
    ["{ when: door.opening, ", "¦{ ", "without when"],
    ["no deadlock", "¦no deadlocks", "Did you mean no deadlock?"],
    ["automata:\n", "¦automaton:\n", "found automaton; expected a key of an automata file"],
  ])("%s becoming %s", (before, marked, message) => {
    expect(good).toContain(before);
    const text = good.replace(before, marked);
    const lines = text.slice(0, text.indexOf("¦")).split("\n");
    const place = `net.yaml:${lines.length}:${lines.at(-1)!.length + 1}: `;
    const issues = issuesOf(text.replace("¦", ""));
    const line = issues.find((issue) => issue.startsWith(place) && issue.includes(message));
    expect(line, `${place}\n${issues.join("\n")}`).toBeDefined();
  });

  it("reports all of them at once, in the order of the file", () => {
    const issues = issuesOf(
      good.replace("to: opening, receive", "to: openign, receive").replace("busy = 0", "busi = 0"),
    );
    expect(issues.map((issue) => issue.split(":")[1])).toEqual(["18", "26"]);
  });

  it("an urgent channel with a clock condition, and other things that need more than one place", () => {
    const urgent = good.replace("open: pair", "open: { kind: pair, urgent: yes }").replace('"busy = 0"', '"t > 1"');
    expect(issuesOf(urgent).join()).toContain("found a clock condition of an edge on an urgent channel");
    expect(issuesOf("[]").join()).toContain("found an empty list; expected a map with network, automata and queries");
    expect(issuesOf("").length).toBeGreaterThan(0);
    expect(issuesOf("network: x\nautomata: {}\nqueries: {}").join("\n")).toContain("automata by name, at least 1");
    expect(
      issuesOf("network: x\nautomata: { p: { locations: {} } }\nqueries: { q: no deadlock }").join("\n"),
    ).toContain("locations by name, at least 1");
  });
});

describe("symmetric copies", () => {
  const symmetric = `network: turns
variables: { id: { range: [0, 3], numbers: p } }
automata:
  p:
    copies: 3
    symmetric: yes
    locations: { a: , b: }
    edges:
      - { from: a, to: b, guard: id = 0, update: "id := self" }
      - { from: b, to: a, guard: id = self, update: "id := 0" }
queries:
  one: { never: count(p.b) > 1 }
`;
  it("are accepted where no number matters", () => expect(issuesOf(symmetric)).toEqual([]));

  it.each<[string, string, string]>([
    ["guard: id = self", "guard: id >= self", "copy numbers assigned, or compared by = and !=, only"],
    ["guard: id = self", "guard: id = 2", "copy numbers assigned, or compared by = and !=, only"],
    ['"id := self"', '"id := self - 1"', "self, 0, or a variable of numbers of p"],
    ["range: [0, 3]", "range: [0, 3], start: 1", "copies of p, 0 to 3, at the start 0"],
    ["count(p.b) > 1", '"p[1].b"', "count(p.b), for all copies"],
  ])("%s becoming %s", (before, after, expected) => {
    expect(symmetric).toContain(before);
    expect(issuesOf(symmetric.replace(before, after)).join("\n")).toContain(expected);
  });
});

it("never throws, whatever the text: cuts, doublings and swaps of a good file", () => {
  fc.assert(
    fc.property(
      fc.nat(good.length),
      fc.nat(30),
      fc.constantFrom("", "x", ":", "[", "{", "}", "-1", "\n", "self", "99999999999"),
      (at, cut, put) => {
        const read = readAutomataFile(good.slice(0, at) + put + good.slice(at + cut), "net.yaml");
        if (!read.ok) expect(read.issues.length).toBeGreaterThan(0);
      },
    ),
    { seed: 7, numRuns: 300 },
  );
});

it("reads the examples, whose answers are as they say", () => {
  const folder = new URL("../../../examples/automata/", import.meta.url);
  for (const name of readdirSync(folder)) {
    const read = readAutomataFile(readFileSync(new URL(name, folder), "utf8"), name);
    if (!read.ok) throw new Error(read.issues.map(formatIssue).join("\n"));
    const { queries } = explore(read.value.network, read.value.queries);
    for (const { name: query, verdict } of queries) expect(`${name} ${query} ${verdict}`).toMatch(/holds$/);
  }
});
