/** The reference page of automata files and the reader say the same. */
import { readdirSync, readFileSync } from "node:fs";
import { expect, it } from "vitest";
import { formatIssue } from "../../src/cell/index.ts";
import { explore, readAutomataFile } from "../../src/proof/index.ts";

const page = readFileSync(new URL("../../docs/reference/automata-file.md", import.meta.url), "utf8");

it("has an example that is read, and whose queries hold", () => {
  const [, example] = /^```yaml\n(.*?)^```$/ms.exec(page)!;
  const read = readAutomataFile(example!, "example.yaml");
  if (!read.ok) throw new Error(read.issues.map(formatIssue).join("\n"));
  const { queries } = explore(read.value.network, read.value.queries);
  expect(queries.map(({ name, verdict }) => `${name}: ${verdict}`)).toEqual([
    "it opens: holds",
    "it can open: holds",
    "never pushed while opening: holds",
    "alive: holds",
    "time goes on: holds",
  ]);
});

it("lists every code that the reader reports, and no other", () => {
  const floor = new URL("../../src/proof/automata/", import.meta.url);
  const sources = readdirSync(floor)
    .filter((name) => name.endsWith(".ts") && !name.endsWith(".test.ts"))
    .map((name) => readFileSync(new URL(name, floor), "utf8"))
    .join("\n");
  const reported = [
    ...sources.matchAll(/(?:#problems\.add|problems\.add|this\.add|#tell|log\.(?:wrong|report|add))\(\s*"([a-z-]+)"/g),
  ].map((match) => match[1]!);
  const named = [...sources.matchAll(/[mM]issing\(\s*"([a-z]+)"/g)].map((match) => `missing-${match[1]}`);
  const codes = page.slice(page.indexOf("## Codes of issues"));
  const listed = new Set([...codes.matchAll(/`([a-z-]+)`/g)].map((match) => match[1]!));
  expect(new Set(reported).size).toBeGreaterThan(25);
  expect([...reported, ...named].filter((code) => !listed.has(code))).toEqual([]);
  // The others come from the shared reader of texts, keys and values.
  const shared = /^(tab|not-text|too-|duplicate-key|bad-key|missing-anchor|alias-cycle|unknown-|wrong-length)/;
  const all = new Set([...reported, ...named]);
  expect([...listed].filter((code) => !all.has(code) && !shared.test(code))).toEqual([]);
});
