/** The drawing sheets: every wire once, nothing outside of the frame or on another word, escaped, the same every time. */
import fc from "fast-check";
import { SaxesParser } from "saxes";
import { describe, expect, it } from "vitest";
import { wiredCell, withSignals } from "../../../test/wiring/cells.ts";
import type { IoPort, Signal } from "../../cell/model.ts";
import { surveyWiring } from "../../wiring/index.ts";
import { renderWiringSheets } from "./wiring-sheets.ts";

const options = { version: "1.2.3", date: "2026-01-31", file: "cell.yaml" };
const drawn = (cell: ReturnType<typeof wiredCell>) => renderWiringSheets(cell, surveyWiring(cell), options);

const STATED = `  ports:
    controller: { digital inputs: 24, digital outputs: 16, analogue inputs: 2, input type: 3, inputs: sinking, outputs: sourcing, supply: main }
    flange: { digital inputs: 2, digital outputs: 2, inputs: sourcing, outputs: sinking }
  remote: { far: { unit: 4, digital inputs: 8, digital outputs: 2, outputs: relay, discrete inputs from: 100, coils from: 0 } }
  supplies: { main: { voltage: 24 V, current: 5 A } }`;
const MANY = [
  "valve-d: { direction: output, load: valve, suppression: diode }",
  "valve-v: { direction: output, load: valve, suppression: varistor }",
  "relay-rc: { direction: output, load: relay, suppression: RC, wired: far }",
  "lamp: { direction: output, load: lamp }",
  "to-input: { direction: output, load: input, coupling: optocoupler }",
  "prox: { direction: input, sensor: proximity switch, contact: normally closed, polarity: PNP }",
  "button: { direction: input, sensor: push button }",
  "level: { direction: input, kind: analogue }",
  "word: { direction: input, kind: register }",
  ...Array.from(
    { length: 26 },
    (_, i) => `c-${i}: { direction: input, sensor: contact, contact: normally ${i % 2 ? "closed" : "open"} }`,
  ),
]
  .map((line) => `  ${line}\n`)
  .join("");

interface Drawn {
  readonly texts: {
    readonly text: string;
    readonly x: number;
    readonly y: number;
    readonly anchor: string;
    readonly size: number;
  }[];
  readonly titles: string[];
  /** Corners of paths and boxes. */
  readonly points: (readonly [number, number])[];
}

/** Reads a sheet as XML, which fails unless it is well-formed. */
function readSheet(svg: string): Drawn {
  const out: Drawn = { texts: [], titles: [], points: [] };
  const parser = new SaxesParser();
  parser.on("error", (error) => {
    throw error;
  });
  const open: { name: string; attributes: Record<string, string>; text: string }[] = [];
  parser.on("opentag", ({ name, attributes }) => {
    open.push({ name, attributes: attributes as Record<string, string>, text: "" });
    const a = attributes as Record<string, string>;
    if (name === "rect" && a["x"] !== undefined)
      out.points.push([+a["x"]!, +a["y"]!], [+a["x"]! + +a["width"]!, +a["y"]! + +a["height"]!]);
    if (name === "circle") out.points.push([+a["cx"]! - +a["r"]!, +a["cy"]!], [+a["cx"]! + +a["r"]!, +a["cy"]!]);
  });
  parser.on("text", (text) => {
    for (const element of open) element.text += text;
  });
  parser.on("closetag", () => {
    const { name, attributes: a, text } = open.pop()!;
    if (name === "title") out.titles.push(text);
    if (name === "text")
      out.texts.push({
        text,
        x: Number(a["x"]),
        y: Number(a["y"]),
        anchor: a["text-anchor"] ?? "start",
        size: /\bsmall\b/.test(a["class"] ?? "") ? 11 : 12.5,
      });
  });
  parser.write(svg).close();
  return out;
}

describe("wiring sheets", () => {
  const cell = wiredCell(STATED, MANY);
  const sheets = drawn(cell);
  const read = sheets.map(readSheet);

  it("draw every signal with a terminal once, over several sheets", () => {
    const { schedule } = surveyWiring(cell);
    const expected = schedule.filter(({ terminal }) => terminal !== "").map(({ signal }) => signal);
    const titles = read.flatMap(({ titles: all }) => all).filter((title) => !title.startsWith("Wiring of "));
    expect(titles.sort()).toEqual(expected.sort());
    expect(sheets.length).toBeGreaterThan(1);
    sheets.forEach((svg, i) => {
      expect(svg).toContain(`${i + 1} of ${sheets.length}`);
    });
    const words = read.flatMap(({ texts }) => texts.map(({ text }) => text));
    for (const { terminal } of schedule) if (terminal !== "") expect(words).toContain(terminal);
    expect(words.some((text) => text.startsWith("Over the bus only: word"))).toBe(true);
  });

  it("keep all words and boxes inside the sheet", () => {
    for (const { texts, points } of read) {
      for (const [x, y] of points) expect(x >= 4 && x <= 1396 && y >= 4 && y <= 986).toBe(true);
      for (const { text, x, y, anchor, size } of texts) {
        // 0.62 em is wider than the mean letter of the faces named.
        const wide = 0.62 * size * [...text].length;
        const from = anchor === "start" ? x : anchor === "end" ? x - wide : x - wide / 2;
        expect(`${text} ${from >= 0 && from + wide <= 1400 && y > 0 && y < 990}`).toBe(`${text} true`);
      }
    }
  });

  it("show function codes and addresses of remote points", () => {
    const words = read.flatMap(({ texts }) => texts.map(({ text }) => text));
    expect(words).toContain("FC 5, 15, address 0");
    expect(words.some((text) => /^FC 2, address 10\d$/.test(text))).toBe(true);
  });

  it("are the same every time", () => expect(drawn(wiredCell(STATED, MANY))).toEqual(sheets));

  it("say when nothing has a point", () => {
    const none = drawn(withSignals(cell, []));
    expect(none).toHaveLength(1);
    expect(none[0]).toContain("no signal with a point");
  });

  it("draw proposed stations and name them so", () => {
    const many = Array.from(
      { length: 40 },
      (_, i): Signal => ({ name: `m${i}`, direction: "output", kind: "digital", initial: false }),
    );
    const words = drawn(withSignals(wiredCell(undefined), many))
      .map(readSheet)
      .flatMap(({ texts }) => texts.map(({ text }) => text));
    expect(words.filter((text) => /^station-1: digital outputs, proposed station/.test(text)).length).toBeGreaterThan(
      0,
    );
    expect(words.some((text) => text.includes("drawn as sourcing, not stated"))).toBe(true);
  });

  it("hold no number that is none, whatever the ports and signals", () => {
    const nat = (max: number) => fc.nat(max);
    const kinds = fc.constantFrom("digital", "digital", "analogue", "register") as fc.Arbitrary<Signal["kind"]>;
    const signal = fc.record({
      direction: fc.constantFrom("input", "output") as fc.Arbitrary<Signal["direction"]>,
      kind: kinds,
      contact: fc.constantFrom("normally open", "normally closed"),
      sensor: fc.constantFrom("contact", "proximity switch", "two-wire switch", "push button", "output"),
      load: fc.constantFrom("relay", "valve", "lamp", "input"),
      suppression: fc.constantFrom("diode", "varistor", "RC", "none"),
      coupling: fc.constantFrom("direct", "relay", "optocoupler"),
      current: fc.constantFrom(0, 0.02, 3),
    });
    fc.assert(
      fc.property(
        nat(9),
        nat(9),
        nat(3),
        fc.array(signal, { maxLength: 30 }),
        (inputs, outputs, analogue, drawnSignals) => {
          const ports = new Map<string, IoPort>([
            [
              "p",
              {
                name: "p",
                digitalInputs: inputs,
                digitalOutputs: outputs,
                analogueInputs: analogue,
                analogueOutputs: 0,
              },
            ],
            [
              "r",
              {
                name: "r",
                digitalInputs: outputs,
                digitalOutputs: inputs,
                analogueInputs: 0,
                analogueOutputs: analogue,
                ratings: { outputs: "relay", inputs: "sourcing", groupSize: 3, groupCurrent: 1 },
                remote: { unit: 1, firstCoil: 0, inputRegisters: analogue, holdingRegisters: 0 },
              },
            ],
          ]);
          const some = drawnSignals.map(
            ({ ...facts }, i): Signal => ({ ...facts, name: `s${i}`, initial: false }) as Signal,
          );
          const one = withSignals({ ...cell, controller: { scan: 0.01, ports } }, some);
          for (const svg of drawn(one)) {
            expect(svg).not.toMatch(/NaN|undefined|Infinity|\bnull\b/);
            readSheet(svg);
          }
          expect(JSON.stringify(surveyWiring(one).problems)).not.toMatch(/NaN|undefined|Infinity/);
        },
      ),
      { seed: 77, numRuns: 60 },
    );
  });

  it("escape what the cell says", () => {
    const evil = '<script>alert("&")</script>';
    const signals = [...cell.signals.values()].map((signal) => ({ ...signal, note: evil }));
    for (const svg of drawn({ ...withSignals(cell, signals), name: evil })) {
      expect(svg).not.toContain("<script");
      readSheet(svg);
    }
  });
});
