/** The schedule as CSV: the grammar of RFC 4180, and back again. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { wiredCell } from "../../test/wiring/cells.ts";
import { assignPoints, parseCsv, pointsFromCsv, scheduleCsv, surveyWiring } from "./index.ts";

describe("RFC 4180", () => {
  // The examples of its section 2.
  it.each([
    [
      "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
      [
        ["aaa", "bbb", "ccc"],
        ["zzz", "yyy", "xxx"],
      ],
    ],
    [
      "aaa,bbb,ccc\r\nzzz,yyy,xxx",
      [
        ["aaa", "bbb", "ccc"],
        ["zzz", "yyy", "xxx"],
      ],
    ],
    [
      '"aaa","bbb","ccc"\r\nzzz,yyy,xxx',
      [
        ["aaa", "bbb", "ccc"],
        ["zzz", "yyy", "xxx"],
      ],
    ],
    [
      '"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx',
      [
        ["aaa", "b\r\nbb", "ccc"],
        ["zzz", "yyy", "xxx"],
      ],
    ],
    ['"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]],
    [
      "a,\r\n,b,",
      [
        ["a", ""],
        ["", "b", ""],
      ],
    ],
    ["", []],
  ])("%j", (text, records) => expect(parseCsv(text)).toEqual({ ok: true, records }));

  it.each([
    ['a\r\nb,"c', 2],
    ['a,"b"c', 1],
    ['a,b"c', 1],
    ["a\rb", 1],
  ])("refuses %j at line %i", (text, line) => expect(parseCsv(text)).toMatchObject({ ok: false, line }));

  it("never throws", () => {
    fc.assert(
      fc.property(
        fc.string({ unit: fc.constantFrom("a", ",", '"', "\r", "\n", "point", "signal", "port") }),
        (text) => {
          parseCsv(text);
          pointsFromCsv(text);
        },
      ),
      { seed: 7, numRuns: 500 },
    );
  });
});

describe("the schedule", () => {
  const cell = wiredCell(
    `  ports: { controller: { digital inputs: 5, digital outputs: 5 }, flange: { digital outputs: 1 } }
  remote: { far: { unit: 2, digital inputs: 2, discrete inputs from: 16 } }`,
    `  odd: { direction: input, note: 'says "on", comma, and = 1' }\n  far-1: { direction: input, current: 12.5 mA }\n  far-2: input\n  left: input\n  word: { direction: input, kind: register }\n`,
  );
  const survey = surveyWiring(cell);
  const text = scheduleCsv(survey.schedule);

  it("parses back to what it was written from", () => {
    const parsed = parseCsv(text);
    if (!parsed.ok) throw new Error(parsed.problem);
    const [header, ...rows] = parsed.records;
    const column = (name: string) => rows.map((row) => row[header!.indexOf(name)]);
    expect(column("signal")).toEqual(survey.schedule.map(({ signal }) => signal));
    expect(column("terminal")).toEqual(survey.schedule.map(({ terminal }) => terminal));
    expect(column("note")).toContain('says "on", comma, and = 1');
    expect(column("current_mA")).toContain("12.5");
    expect(rows.every((row) => row.length === header!.length)).toBe(true);
    expect(text.endsWith("\r\n")).toBe(true);
    const far = rows.find((row) => row.includes("far-1"))!;
    expect([far[header!.indexOf("address")], far[header!.indexOf("reference")]]).toEqual(["16", "100017"]);
  });

  it("gives the points back, those of proposed stations left out", () => {
    const earlier = pointsFromCsv(`\ufeff${text}`);
    if (!earlier.ok) throw new Error(earlier.problem);
    const { points, proposed } = assignPoints(cell);
    expect(proposed.points.has("left")).toBe(true);
    expect(Object.fromEntries(earlier.points)).toEqual(
      Object.fromEntries([...points].map(([name, { port, point }]) => [name, { port, point }])),
    );
  });

  it.each([
    ["a,b\r\n1,2\r\n", 1, "no columns"],
    ["signal,port,point\r\nx,controller,three\r\n", 2, "three"],
    ['signal,port,point\r\n"x', 2, "not closed"],
  ])("does not take %j for one", (wrong, line, problem) => {
    expect(pointsFromCsv(wrong)).toMatchObject({ ok: false, line, problem: expect.stringContaining(problem) });
  });
});
