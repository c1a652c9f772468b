/** `prove` from the outside: verdicts, faults, picture, exit status, interruption. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as pause } from "node:timers/promises";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Ended, ended, root, run, start } from "./program.ts";

const CELL = join(root, "test", "cells", "small-lathe.yaml");
const STUCK = "stuck input door-is-open on";

let folder: string;
/** The cell without the await for its door. */
let broken: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-prove-"));
  broken = join(folder, "broken.yaml");
  const text = readFileSync(CELL, "utf8");
  const without = text.replace(/ +- await: \{ signal: door-is-open, limit: 5 s.*\n/, "");
  expect(without).not.toBe(text);
  writeFileSync(broken, without);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const prove = (...args: string[]): Promise<Ended> => run(["prove", ...args]);

describe("prove", () => {
  it("says that the interlocks hold, and gives the seconds on the error output only", async () => {
    const { stdout, stderr, status } = await prove(CELL, "--no-faults");
    expect(status).toBe(0);
    expect(stdout).toMatch(/^holds {2}short {2}\d+ states$/m);
    expect(stdout).toMatch(/^\d+ states explored$/m);
    expect(stdout).toContain("The proof is about the cell file");
    expect(stderr).toMatch(/^millhand: \d+ states in [\d.]+ s\n$/);
    expect((await prove(CELL, "--no-faults")).stdout).toBe(stdout);
  });

  it("ends with status 1 where something can go wrong, with sentence, mend and diagram", async () => {
    const picture = join(folder, "wrong.svg");
    const { stdout, status } = await prove(broken, "--no-faults", "--ascii", "--picture", picture);
    expect(status).toBe(1);
    expect(stdout).toContain("zone-shared at load[3] (short)");
    expect(stdout.replaceAll(/\s+/g, " ")).toContain(
      "Add `await: { signal: door-is-open, limit: 5 s, ~ }`".replace("~", "…"),
    );
    expect(stdout).toMatch(/^ {4}lathe\.door +\|closed.*moving/m);
    expect(stdout).toMatch(/goes wrong at [\d.]+ s X$/m);
    const svg = readFileSync(picture, "utf8");
    expect(svg).toMatch(/^<svg [\s\S]*goes wrong at[\s\S]*<\/svg>\n$/);
  });

  it("supposes the faults that are asked for; a dangerous one does not change the status", async () => {
    const { stdout, status } = await prove(CELL, "--json", "--fault", STUCK, "--fault", "slow device lathe.door open");
    expect(status).toBe(0);
    const document = JSON.parse(stdout);
    expect(document).toMatchObject({ schemaVersion: 1, cell: "Small lathe cell", verdict: "holds" });
    expect(document.faults.map(({ name, verdict }: { name: string; verdict: string }) => [name, verdict])).toEqual([
      ["slow device lathe.door open", "detected"],
      [STUCK, "dangerous"],
    ]);
    expect(document.faults[0].detectedAt[0]).toEqual({ step: "load[3]", message: "the door did not open" });
  });

  it("lists faults, and names them when one is unknown", async () => {
    const listed = await prove(CELL, "--list-faults");
    expect(listed.stdout.split("\n")).toContain(STUCK);
    expect(JSON.parse((await prove(CELL, "--list-faults", "--json")).stdout).faults).toContain(STUCK);
    const unknown = await prove(CELL, "--fault", "gremlins");
    expect(unknown.status).toBe(2);
    expect(unknown.stderr).toMatch(/--fault: found gremlins; expected one of .*stuck input door-is-open on/);
    expect((await prove(CELL, "--variant", "nobody")).status).toBe(2);
    expect((await prove(CELL, "--picture", "x.txt")).status).toBe(2);
  });

  it("leaves it undecided when memory does not suffice", async () => {
    const { stdout, status } = await prove(
      join(root, "examples", "two-lathes", "cell.yaml"),
      "--no-faults",
      "--memory",
      "1",
    );
    expect(status).toBe(1);
    expect(stdout).toMatch(/^undecided/m);
    expect(stdout).toContain("allow more memory");
  });

  it("answers Ctrl-C with status 3", async () => {
    const child = start(["prove", join(root, "examples", "two-lathes", "cell.yaml")]);
    const end = ended(child);
    await pause(2500);
    child.kill("SIGINT");
    expect((await end).status).toBe(3);
  });
});
