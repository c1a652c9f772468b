/** `guard` through the built program: text, JSON, findings and files that cannot be used. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { root, run } from "./program.ts";

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-guard-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** The small cell, without its fence, with a guarding section. */
function cell(name: string, guarding: string): string {
  const text = readFileSync(join(root, "test", "cells", "small-lathe.yaml"), "utf8").replace(/^ {2}fence: .*$/m, "");
  const path = join(folder, name);
  writeFileSync(path, `${text}\nguarding:\n${guarding}\n`);
  return path;
}

const TOUCHED = `  people: { loader: { place: loading-side, body: [hand] } }
  stopping: { reaction time: 0.1 s, stopping time: 0.4 s, stopping distance: 300 mm }
  contact surfaces: { jaw: { on: gripper, area: 2 cm^2 } }`;

it("says what is computed, with the caution, and ends with 1 for errors", async () => {
  const { stdout, status } = await run(["guard", cell("text.yaml", TOUCHED), "--ascii"], { env: { COLUMNS: "100" } });
  expect(status).toBe(1);
  for (const words of [
    "Figures for a risk assessment, not one",
    "ISO 13855:2010",
    "Ways to the arm",
    "effective mass",
    "Hazard register",
    "performance level e required",
    "What lower speeds cost",
    "contact-too-hard",
  ])
    expect(stdout).toContain(words);
  // biome-ignore lint/suspicious/noControlCharactersInRegex: plain characters are what is asked for
  expect(stdout).toMatch(/^[\x00-\x7f]*$/);
  for (const line of stdout.split("\n")) expect(line.length).toBeLessThanOrEqual(100);
});

it("gives one document, the same each time, with what `check` gives and the costs", async () => {
  const path = cell("json.yaml", TOUCHED);
  const [one, two, check] = await Promise.all([
    run(["guard", path, "--json"]),
    run(["guard", path, "--json"]),
    run(["check", path, "--json"]),
  ]);
  expect(one.stdout).toBe(two.stdout);
  const { schemaVersion, guarding, findings } = JSON.parse(one.stdout);
  const inCheck = JSON.parse(check.stdout);
  expect(schemaVersion).toBe(1);
  expect({ ...guarding, costs: null }).toEqual(inCheck.guarding);
  expect(guarding.costs.map((cost: { what: string }) => cost.what)).toContain("teaching: 250 mm/s at most");
  for (const finding of findings) expect(inCheck.findings).toContainEqual(finding);
});

it("works for the example cells, which say nothing about people, and says so", async () => {
  const { stdout, status } = await run(["guard", join(root, "examples", "mill", "cell.yaml"), "--json"]);
  const { findings, guarding } = JSON.parse(stdout);
  expect(findings.map((finding: { code: string }) => finding.code)).toContain("guarding-not-stated");
  expect(guarding.hazards.length).toBeGreaterThan(8);
  expect(guarding.approaches).toEqual([]);
  expect(status).toBe(0);
});

it("refuses what is impossible, with its place", async () => {
  const path = cell("bad.yaml", "  people: { loader: { body: [tail] } }\n  stopping: { reaction time: -1 s }");
  const { stdout, stderr, status } = await run(["guard", path]);
  expect([stdout, status]).toEqual(["", 2]);
  expect(stderr).toContain("guarding.people.loader.body[0]: found tail");
  expect(stderr).toContain("guarding.stopping.reaction time: found -1 s");
  expect((await run(["guard", join(folder, "none.yaml")])).status).toBe(2);
});
