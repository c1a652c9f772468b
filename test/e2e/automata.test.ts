/** `automata`: answers, runs, exit status, unusable files and interruption, through the built program. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { ended, root, run, start } from "./program.ts";

const EXAMPLE = join(root, "examples", "automata", "fischer.yaml");
const fischer = readFileSync(EXAMPLE, "utf8");

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-automata-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function file(name: string, contents: string): string {
  const path = join(folder, name);
  writeFileSync(path, contents);
  return path;
}

interface Document {
  readonly schemaVersion: number;
  readonly queries: readonly {
    name: string;
    verdict: string;
    reason?: string;
    trace: { at: number; moves: object[] }[];
  }[];
  readonly states: number;
}

it("answers the example for people, status 0", async () => {
  const { stdout, stderr, status } = await run(["automata", EXAMPLE]);
  expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
  expect(stdout).toMatch(/^holds +mutual exclusion +never$/m);
  expect(stdout).toContain("process[1]: waiting → critical");
});

describe("Fischer's protocol as one document", () => {
  it.each([
    [2, 2, ">", "holds"],
    [3, 2, ">", "holds"],
    [5, 2, ">", "holds"],
    [2, 2, ">=", "violated"],
    [4, 1, ">", "violated"],
  ])("%i processes, wait %i, x %s wait: %s", async (processes, wait, compared, verdict) => {
    const text = fischer
      .replace("[0, 4]", `[0, ${processes}]`)
      .replace("copies: 4", `copies: ${processes}`)
      .replace("wait: 2", `wait: ${wait}`)
      .replace("x > wait", `x ${compared} wait`);
    const { stdout, status } = await run([
      "automata",
      file("fischer.yaml", text),
      "--json",
      "--query",
      "mutual exclusion",
    ]);
    const { schemaVersion, queries, states } = JSON.parse(stdout) as Document;
    expect(schemaVersion).toBe(1);
    expect(queries.map((query) => [query.name, query.verdict])).toEqual([["mutual exclusion", verdict]]);
    expect(status).toBe(verdict === "holds" ? 0 : 1);
    expect(queries[0]!.trace.length > 0).toBe(verdict === "violated");
    expect(states).toBeGreaterThan(10);
  });
});

it("names every mistake of a file with its place, status 2", async () => {
  const bad = file(
    "bad.yaml",
    fischer.replace("reset: x, update", "reset: y, update").replace("process.critical", "process.critcal"),
  );
  const { stdout, stderr, status } = await run(["automata", bad]);
  expect({ stdout, status }).toEqual({ stdout: "", status: 2 });
  expect(stderr).toContain("the input cannot be used, 2 issues:");
  expect(stderr).toContain(`${bad}:18:46: `);
  expect(stderr).toContain("Did you mean critical?");
});

it.each([
  [["automata", "no-such-file.yaml"], "there is no such file"],
  [["automata", EXAMPLE, "--query", "nothing"], "expected one of mutual exclusion"],
  [["automata", EXAMPLE, "--memory", "lots"], "Expected a whole number of MiB"],
  [["automata", EXAMPLE, "--trace", "longest"], "shortest, fastest"],
])("%j cannot be used: %s", async (args, message) => {
  const { stderr, status } = await run(args);
  expect(status).toBe(2);
  expect(stderr).toContain(message);
});

const big = `network: counters
variables: { a: { range: [0, 2000] }, b: { range: [0, 2000] }, c: { range: [0, 2000] } }
automata:
  p: { locations: { l: }, edges: [{ from: l, to: l, guard: a < 2000, update: "a := a + 1" }] }
  q: { locations: { l: }, edges: [{ from: l, to: l, guard: b < 2000, update: "b := b + 1" }] }
  r: { locations: { l: }, edges: [{ from: l, to: l, guard: c < 2000, update: "c := c + 1" }] }
queries:
  full: { never: a + b + c = 6000 }
`;

it("ends undecided at its memory limit, status 1", async () => {
  const { stdout, status } = await run(["automata", file("big.yaml", big), "--json", "--memory", "4"]);
  const [query] = (JSON.parse(stdout) as Document).queries;
  expect(query).toMatchObject({ verdict: "undecided", reason: expect.stringContaining("4 MiB") });
  expect(status).toBe(1);
});

it("is interrupted at once, status 3", async () => {
  const child = start(["automata", file("long.yaml", big)]);
  setTimeout(() => child.kill("SIGINT"), 1500);
  const { stdout, stderr, status } = await ended(child);
  expect({ stdout, status }).toEqual({ stdout: "", status: 3 });
  expect(stderr).toContain("interrupted");
});
