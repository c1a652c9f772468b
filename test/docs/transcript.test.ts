import { expect, it } from "vitest";
import type { Block } from "./page.ts";
import { agrees, change, exchangesOf, matchShown, renewed } from "./transcript.ts";

const same = (a: string, b: string) => a === b;
const block = (...lines: string[]): Block => ({ language: "console", attributes: new Map(), line: 1, lines });

it("takes commands over several lines and what they print apart", () => {
  const exchanges = exchangesOf(block("$ one", "out", "", "$ two \\", "  more", "$ three '", "> end'", "last"));
  expect(exchanges.map((e) => e.command)).toEqual(["one", "two \\\n  more", "three '\nend'"]);
  expect(exchanges.map((e) => e.shown)).toEqual([["out", ""], [], ["last"]]);
  expect(() => exchangesOf(block("no command"))).toThrow("line 1");
});

it("leaves lines out only where the page says so", () => {
  const printed = ["a", "b", "c", "d"];
  expect(matchShown(["a", "b", "c", "d"], printed, same)).toEqual(printed);
  expect(matchShown(["a", "…", "c", "d"], printed, same)).toEqual(["a", "…", "c", "d"]);
  expect(matchShown(["a", "…"], printed, same)).toEqual(["a", "…"]);
  expect(matchShown(["…", "d"], printed, same)).toEqual(["…", "d"]);
  expect(matchShown(["a", "b"], printed, same)).toBeUndefined();
  expect(matchShown(["a", "…", "c"], printed, same)).toBeUndefined();
  expect(matchShown(["a", "…", "b", "d"], printed, same)).toBeUndefined();
  expect(matchShown(["b", "…"], printed, same)).toBeUndefined();
  expect(matchShown([], printed, same)).toBeUndefined();
  expect(matchShown([], [], same)).toEqual([]);
});

it("takes numbers for the same that differ by rounding, and no others", () => {
  expect(agrees('{"q":[0.1,-2e-17]}', '{"q":[0.10000000000000002,0]}')).toBe(true);
  expect(agrees("takes 1.10 s", "takes 1.11 s")).toBe(false);
  expect(agrees("takes 1 s", "takes 1 m")).toBe(false);
});

it("renews paragraphs by their first line, the first by its place", () => {
  const printed = ["FEASIBLE", "12 s", "", "Steps", "a 1", "b 2", "", "Errors (0)"];
  expect(renewed(["NOT FEASIBLE", "", "…", "Steps", "a 3", "", "…"], printed)).toEqual([
    ...["FEASIBLE", "12 s", "", "…", "Steps", "a 1", "b 2", "", "…"],
  ]);
  expect(renewed(["FEASIBLE", "", "…", "Gone", "…"], printed)).toBeUndefined();
  expect(renewed(["FEASIBLE", "12 s"], printed)).toBeUndefined();
});

it("changes the lines of a file that a diff names, and only if they stand there once", () => {
  const text = "a\n  b\nc\nb\n";
  expect(change(text, ["-  b", "+  x", "+  y", " c"], "here")).toBe("a\n  x\n  y\nc\nb\n");
  expect(change(text, ["-a", "+z", "…", " c", "-b", "+q"], "here")).toBe("z\n  b\nc\nq\n");
  expect(() => change(text, ["-d", "+e"], "here")).toThrow("here: not found");
  expect(() => change("b\nb\n", ["-b", "+c"], "here")).toThrow("more than once");
});
