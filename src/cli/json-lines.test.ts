import { Readable, Writable } from "node:stream";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type LineWork, LONGEST_LINE, mapJsonLines } from "./json-lines.ts";

const double: LineWork = ({ x }) =>
  typeof x === "number" ? `"twice":${2 * x}` : { found: `x: ${JSON.stringify(x)}`, expected: "a number" };

/** Runs the mapping over chunks and gathers what comes out. */
async function run(chunks: readonly Uint8Array[], asDocument = false, highWaterMark = 16_384) {
  const reports: string[] = [];
  let text = "";
  const output = new Writable({
    highWaterMark,
    write(chunk: Buffer, _encoding, done) {
      text += chunk.toString();
      setImmediate(done);
    },
  });
  const outcome = await mapJsonLines({
    input: Readable.from(chunks, { objectMode: false }),
    output,
    report: (message) => reports.push(message),
    work: double,
    asDocument,
  });
  return { text, reports, ...outcome };
}

const bytes = (text: string) => new TextEncoder().encode(text);

describe("mapJsonLines", () => {
  it("answers in order and echoes any id", async () => {
    const { text, bad, lines } = await run([bytes('{"id":"a","x":1}\n{"id":{"k":[2]},"x":2}\r\n\n{"x":3}')]);
    expect(text).toBe('{"id":"a","twice":2}\n{"id":{"k":[2]},"twice":4}\n{"id":null,"twice":6}\n');
    expect({ bad, lines }).toEqual({ bad: 0, lines: 4 });
  });

  it("puts an error in the place of each bad line and tells its number", async () => {
    const { text, reports, bad } = await run([
      bytes('{"id":1,"x":1}\nnonsense\n{"id":3,"x":"1"}\n[4]\n{"id":5,"x":5}\n'),
    ]);
    const out = text
      .trimEnd()
      .split("\n")
      .map((line) => JSON.parse(line));
    expect(out.map((o) => o.id)).toEqual([1, null, 3, null, 5]);
    expect(out[1].error).toBe("line 2: found nonsense, which is not JSON; expected a JSON object");
    expect(out[2].error).toBe('line 3: found x: "1"; expected a number');
    expect(reports).toEqual([out[1].error, out[2].error, out[3].error]);
    expect(bad).toBe(3);
  });

  it("does not depend on where the chunks are cut, not even inside a character", async () => {
    const all = bytes('{"id":"ü€😀","x":1}\n{"id":2,"x":2}\nbad\n{"id":4,"x":4}\n');
    const whole = (await run([all])).text;
    await fc.assert(
      fc.asyncProperty(fc.uniqueArray(fc.integer({ min: 1, max: all.length - 1 }), { maxLength: 6 }), async (cuts) => {
        const at = [0, ...cuts.sort((a, b) => a - b), all.length];
        const parts = at.slice(1).map((end, i) => all.slice(at[i], end));
        expect((await run(parts)).text).toBe(whole);
      }),
      { seed: 7, numRuns: 100 },
    );
  });

  it("refuses a line that never ends without keeping it, and goes on behind it", async () => {
    const long = bytes("x".repeat(LONGEST_LINE / 4));
    const { text, bad } = await run([...Array.from({ length: 12 }, () => long), bytes('\n{"id":2,"x":2}\n')]);
    expect(bad).toBe(1);
    expect(text).toMatch(
      /^\{"id":null,"error":"line 1: found a line that is too long; expected at most \d+ characters"\}\n/,
    );
    expect(text.endsWith('{"id":2,"twice":4}\n')).toBe(true);
  });

  it("makes one document on request, an empty one too", async () => {
    const { text } = await run([bytes('{"id":1,"x":1}\n'), bytes('{"id":2,"x":2}\n')], true);
    expect(JSON.parse(text)).toEqual({
      schemaVersion: 1,
      results: [
        { id: 1, twice: 2 },
        { id: 2, twice: 4 },
      ],
    });
    expect(JSON.parse((await run([], true)).text)).toEqual({ schemaVersion: 1, results: [] });
  });

  it("reads no further while the output is behind", async () => {
    let handedOver = 0;
    let most = 0;
    let written = 0;
    const line = bytes('{"id":1,"x":1}\n');
    const input = Readable.from(
      (function* () {
        for (let k = 0; k < 2000; k++) {
          handedOver++;
          most = Math.max(most, handedOver - written);
          yield line;
        }
      })(),
      { objectMode: false, highWaterMark: 64 },
    );
    const output = new Writable({
      highWaterMark: 64,
      write(chunk: Buffer, _encoding, done) {
        written += chunk.toString().split("\n").length - 1;
        setImmediate(done);
      },
    });
    await mapJsonLines({ input, output, report: () => {}, work: double, asDocument: false });
    expect(written).toBe(2000);
    expect(most).toBeLessThan(100);
  });

  it("reports the first hundred bad lines and counts the rest", async () => {
    const { reports, bad, text } = await run([bytes("?\n".repeat(150))]);
    expect(bad).toBe(150);
    expect(text.trimEnd().split("\n")).toHaveLength(150);
    expect(reports).toHaveLength(101);
    expect(reports[100]).toBe("50 more bad lines, each marked in the output");
  });
});
