/** `check --picture` from the outside: a drawing of the least clearance as SVG and as PNG, and what is refused. */
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { CheckReport } from "../../src/check/index.ts";
import { root, run } from "./program.ts";

const CELL = join(root, "test", "cells", "small-lathe.yaml");

describe("check --picture", () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), "millhand-picture-"));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it("draws the least clearance", async () => {
    const svg = join(folder, "a.svg"),
      png = join(folder, "a.PNG");
    const first = await run(["check", CELL, "--json", "--picture", svg]);
    const second = await run(["check", CELL, "--json", "--picture", png]);
    const { clearance } = JSON.parse(first.stdout) as CheckReport;
    expect(second.stdout).toBe(first.stdout);
    expect(clearance).not.toBeNull();
    const text = readFileSync(svg, "utf8");
    for (const name of clearance!.pair) expect(text).toContain(name);
    expect(text).toMatch(/^<svg xmlns="http:\/\/www\.w3\.org\/2000\/svg"/);
    const bytes = readFileSync(png);
    expect([...bytes.subarray(0, 8)]).toEqual([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
    // Twice the px of the sheet.
    expect(bytes.readUInt32BE(16)).toBe(2 * Number(/ width="(\d+)"/.exec(text)![1]));
  }, 60_000);

  it("wants a name that says the kind, and leaves other files alone", async () => {
    for (const name of ["a.jpg", "cell.yaml", ""]) {
      const path = name === "" ? "" : join(folder, name);
      if (name === "cell.yaml") writeFileSync(path, "cell: mine\n");
      const { stderr, status } = await run(["check", CELL, "--picture", path]);
      expect(status).toBe(2);
      expect(stderr).toMatch(/^millhand: cannot write a picture to .*: give it a name that ends in \.svg or \.png\n$/);
    }
    expect(readFileSync(join(folder, "cell.yaml"), "utf8")).toBe("cell: mine\n");
    const page = join(folder, "page.html");
    expect((await run(["check", CELL, "--html", page, "--picture", "b.gif"])).status).toBe(2);
    expect(existsSync(page)).toBe(false);
    expect(readdirSync(folder).some((name) => name.endsWith(".unfinished"))).toBe(false);
  }, 60_000);
});
