/** `millhand cycle` with days, money and alternatives, as its users run it. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { smallLathe } from "../cells/texts.ts";
import { run } from "./program.ts";

const FULL = `${smallLathe.replace("days per week: 5 }", "days per week: 5, weeks per year: 48 }").trimEnd()}
  stops: { chips: { every: 4 h, time: 3 to 8 min } }
  refill: { time: 3 to 5 min }
  people: { attending: 1, response: 0 to 5 min }
  scrap: 1 %
  costs: { currency: EUR, investment: 80000 to 100000, years: 5, interest: 6 to 10 %, part value: 0.9, cell per hour: 3 }
`;

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-"));
  writeFileSync(join(folder, "cell.yaml"), FULL);
  writeFileSync(join(folder, "plain.yaml"), smallLathe);
});
afterAll(() => rmSync(folder, { recursive: true }));

it("days, money, alternatives and the picture; twice the same", async () => {
  const args = [
    "cycle",
    "cell.yaml",
    "--days",
    "14",
    "--money",
    "--vary",
    "faster door: lathe.door time 40 %",
    "--compare",
    "plain.yaml",
    "--tornado",
    "t.svg",
    "--ascii",
  ];
  const first = await run(args, { cwd: folder });
  expect(first.stderr).toBe("");
  expect(first.status).toBe(0);
  for (const words of [
    /10 simulations of 14 days, seed 1/,
    /OEE \(ISO 22400-2\)/,
    /Machines per arm/,
    /Net present value +[\d,-]+ EUR/,
    /What matters/,
    /faster door/,
    /plain\.yaml/,
    /All figures are estimates/,
  ])
    expect(first.stdout).toMatch(words);
  const picture = readFileSync(join(folder, "t.svg"), "utf8");
  expect(picture).toContain("<svg");
  expect(picture).toContain("parts per year");
  expect((await run(args, { cwd: folder })).stdout).toBe(first.stdout);
}, 120_000);

it("JSON: the same figures; what is not stated is null and named", async () => {
  const { stdout, status } = await run(
    ["cycle", "cell.yaml", "--days", "--seed", "7", "--vary", "tray: filling 50", "--json"],
    { cwd: folder },
  );
  expect(status).toBe(0);
  const { schemaVersion, production, alternatives } = JSON.parse(stdout);
  expect(schemaVersion).toBe(1);
  expect(production.attended).toMatchObject({ days: 28, replications: 10, seed: 7, plannedHoursPerWeek: 80 });
  expect(production.machinesPerArm.rows.length).toBeGreaterThan(1);
  expect(alternatives.map((a: { name: string }) => a.name)).toEqual([JSON.parse(stdout).cell, "tray"]);
  expect(alternatives[1].goodPerDay).toBeGreaterThan(alternatives[0].goodPerDay);

  const plain = await run(["cycle", "plain.yaml", "--money", "--json"], { cwd: folder });
  expect(plain.status).toBe(0);
  const bare = JSON.parse(plain.stdout).production;
  expect(bare.money).toBeNull();
  expect(bare.unstated.map((u: { what: string }) => u.what)).toContain("production.stops");
  const drawn = await run(["cycle", "plain.yaml", "--tornado", "none.svg"], { cwd: folder });
  expect(drawn.stderr).toContain("no tornado is drawn, as the net present value is not known");
}, 120_000);

it("nothing is computed for a cell with motions that cannot be made", async () => {
  const { stdout, status } = await run(["cycle", "examples/not-feasible/cell.yaml", "--days", "--json"]);
  expect(status).toBe(1);
  expect(JSON.parse(stdout)).toMatchObject({ production: null, alternatives: null });
}, 60_000);

it.each([
  [["--vary", "nonsense"], /--vary: found nonsense; expected a name, a colon/],
  [["--vary", "a: lathe.dor time 50 %"], /lathe\.door/],
  [["--compare", "absent.yaml"], /absent\.yaml/],
  [["--days", "0"], /whole number from 1 to 36600/],
  [["--money", "--replications", "2000"], /whole number from 1 to 1000/],
  [["--tornado", "t.gif"], /\.svg or \.png/],
])(
  "refuses %j",
  async (options, words) => {
    const { status, stderr, stdout } = await run(["cycle", "cell.yaml", ...options], { cwd: folder });
    expect(status).toBe(2);
    expect(stderr).toMatch(words);
    expect(stdout).toBe("");
  },
  60_000,
);
