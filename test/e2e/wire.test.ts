/** `wire` from the outside: text, JSON, CSV, drawing, an earlier schedule kept, and what is refused. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { WiringDocument } from "../../src/check/index.ts";
import { parseCsv } from "../../src/wiring/index.ts";
import { cellText } from "../wiring/cells.ts";
import { startBrowser, withoutBrowser } from "./browser.ts";
import { run } from "./program.ts";

const FULL = `  ports: { controller: { digital inputs: 4, digital outputs: 4 }, flange: { digital outputs: 1 } }
  remote: { far: { unit: 3, digital inputs: 8, discrete inputs from: 100, update: 10 ms } }`;

let folder: string;
const file = (name: string, text?: string) => {
  const path = join(folder, name);
  if (text !== undefined) writeFileSync(path, text);
  return path;
};
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-wire-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("wire", () => {
  it("writes table, JSON, CSV and drawing of the same points", async () => {
    const cell = file("cell.yaml", cellText(FULL, "  a: input\n  b: input\n"));
    const csv = join(folder, "points.csv");
    const svg = join(folder, "wiring.svg");
    const text = await run(["wire", cell]);
    expect({ stderr: text.stderr, status: text.status }).toEqual({ stderr: "", status: 0 });
    expect(text.stdout).toMatch(/X3:1 +far +DI 0 +a +assigned/);
    expect(text.stdout).toContain("read with FC 2: 8 from address 100, request 02 00 64 00 08");
    const json = await run(["wire", cell, "--json", "--csv", csv, "--drawing", svg]);
    const document = JSON.parse(json.stdout) as WiringDocument;
    expect(document.schemaVersion).toBe(1);
    const b = document.schedule.find(({ signal }) => signal === "b");
    expect(b).toMatchObject({ port: "far", point: 1, terminal: "X3:2", address: 101, reference: "100102" });
    const parsed = parseCsv(readFileSync(csv, "utf8"));
    expect(parsed.ok && parsed.records.length).toBe(document.schedule.length + 1);
    expect(readFileSync(svg, "utf8")).toContain("FC 2, address 101");
    expect(readdirSync(folder).some((name) => name.endsWith(".unfinished"))).toBe(false);
  }, 60_000);

  it("keeps the points of an earlier schedule when a signal comes first in the file", async () => {
    const before = file("before.yaml", cellText(FULL, "  a: input\n  b: input\n"));
    const csv = join(folder, "before.csv");
    await run(["wire", before, "--csv", csv]);
    const after = file("after.yaml", cellText(FULL, "  new: input\n  a: input\n  b: input\n"));
    const points = async (args: readonly string[]) => {
      const { stdout } = await run(["wire", after, "--json", ...args]);
      const { schedule } = JSON.parse(stdout) as WiringDocument;
      return Object.fromEntries(
        schedule.filter(({ port }) => port === "far").map(({ signal, point }) => [signal, point]),
      );
    };
    expect(await points([])).toEqual({ new: 0, a: 1, b: 2 });
    expect(await points(["--keep", csv])).toEqual({ a: 0, b: 1, new: 2 });
    // A signal that cannot stay is named.
    const pinned = file("pinned.yaml", cellText(FULL, "  new: input far 1\n  a: input\n  b: input\n"));
    const { stderr } = await run(["wire", pinned, "--keep", csv]);
    expect(stderr).toBe(`millhand: not where they were in ${csv}: b (far 1, now far 2)\n`);
  }, 60_000);

  it("proposes stations when points are missing, and ends with status 1", async () => {
    const many = Array.from({ length: 20 }, (_, i) => `  x${i}: input\n`).join("");
    const cell = file("many.yaml", cellText(FULL.split("\n")[0], many));
    const { stdout, status } = await run(["wire", cell]);
    expect(status).toBe(1);
    expect(stdout).toContain("controller has 4 digital inputs, the signals need 24");
    expect(stdout).toContain("2 stations of 16 DI, 16 DO, 4 AI, 4 AO");
    expect(stdout).toMatch(/Remote station station-1, unit 1 \(proposed\)/);
  }, 60_000);

  it("numbers the files of several sheets", async () => {
    const many = Array.from({ length: 60 }, (_, i) => `  x${i}: input\n`).join("");
    const cell = file(
      "long.yaml",
      cellText(
        "  ports: { controller: { digital inputs: 99, digital outputs: 4 }, flange: { digital outputs: 1 } }",
        many,
      ),
    );
    const { stderr, status } = await run(["wire", cell, "--drawing", join(folder, "long.svg")]);
    expect(status).toBe(0);
    const names = readdirSync(folder).filter((name) => /^long.*\.svg$/.test(name));
    expect(names.length).toBeGreaterThan(2);
    for (const name of names) expect(name).toMatch(/^long-\d\.svg$/);
    expect(stderr).toContain(`${names.length} sheets`);
  }, 60_000);

  it("refuses what it cannot use with status 2, and leaves no file", async () => {
    const cell = file("fine.yaml", cellText(FULL));
    const bad = file("bad.csv", "a,b\r\n");
    const out = join(folder, "out.csv");
    for (const [args, message] of [
      [["--drawing", join(folder, "a.png")], /give it a name that ends in \.svg/],
      [["--csv", cell], /will not write a schedule/],
      [["--keep", join(folder, "none.csv")], /there is no such file/],
      [["--csv", out, "--keep", bad], /bad\.csv:1: found no columns signal, port and point/],
      [["--csv", out, "--drawing", join(folder, "none", "a.svg")], /does not exist/],
    ] as const) {
      const { stdout, stderr, status } = await run(["wire", cell, ...args]);
      expect({ stdout, status }).toEqual({ stdout: "", status: 2 });
      expect(stderr).toMatch(message);
    }
    expect(existsSync(out)).toBe(false);
  }, 60_000);

  it.skipIf(withoutBrowser !== undefined)(
    "draws words that keep clear of each other, as a browser sets them",
    async () => {
      const svg = join(folder, "seen.svg");
      const cell = file(
        "seen.yaml",
        cellText(
          FULL,
          "  with-a-rather-long-name-that-somebody-gave-to-it-in-a-hurry-1234: { direction: input, note: and a note that is much longer than there is room for on a rung of a ladder }\n  v: { direction: output, load: valve, suppression: diode, current: 90 mA }\n",
        ),
      );
      await run(["wire", cell, "--drawing", svg]);
      const browser = await startBrowser();
      try {
        const page = await browser.newPage();
        await page.goto(`file://${svg}`);
        const boxes = await page.evaluate(() =>
          [...document.querySelectorAll("text")].map((text) => {
            const { left, right, top, bottom } = text.getBoundingClientRect();
            return { words: text.textContent, left, right, top, bottom };
          }),
        );
        expect(boxes.length).toBeGreaterThan(30);
        const hit = boxes.flatMap((a, i) =>
          boxes
            .slice(i + 1)
            .filter(
              (b) =>
                Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 &&
                // Boxes of letters have room above and below them.
                Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 4,
            )
            .map((b) => `${a.words} / ${b.words}`),
        );
        expect(hit).toEqual([]);
        expect(boxes.every(({ left, right }) => left >= 0 && right <= 1400)).toBe(true);
      } finally {
        await browser.close();
      }
    },
    60_000,
  );
});
