/** The reference page of the cell file, the schema and the loader say the same. */
import { readdirSync, readFileSync } from "node:fs";
import { expect, it } from "vitest";
import { parse } from "yaml";
import { cellJsonSchema, formatIssue, loadCell } from "../../src/cell/index.ts";
import { smallLathe, textSource } from "../cells/texts.ts";

const page = readFileSync(new URL("../../docs/reference/cell-file.md", import.meta.url), "utf8");
const examples = [...page.matchAll(/^```yaml\n(.*?)^```$/gms)].map((match) => match[1]!);

/** Keys that a JSON Schema offers anywhere. */
function keysOf(schema: unknown, out = new Set<string>()): Set<string> {
  if (typeof schema !== "object" || schema === null) return out;
  for (const [key, value] of Object.entries(schema)) {
    if (key === "properties") for (const name of Object.keys(value as object)) out.add(name);
    keysOf(value, out);
  }
  return out;
}
const inSchema = keysOf(cellJsonSchema());

it("has a complete cell as its example, the one that the tests use", () => {
  expect(examples).toEqual([smallLathe]);
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": examples[0]! }));
  expect(loaded.ok ? [] : loaded.issues.map(formatIssue)).toEqual([]);
});

it("documents keys that the schema has: every key in the first column of a table of keys", () => {
  const documented = new Set<string>();
  for (const table of page.matchAll(/^\| key \|.*\n\|[-| ]+\n((?:\|.*\n)+)/gm))
    for (const row of table[1]!.trim().split("\n"))
      for (const key of row.split(" | ")[0]!.matchAll(/`([^`]+)`/g)) documented.add(key[1]!);
  expect(documented.size).toBeGreaterThan(90);
  expect([...documented].filter((key) => !inSchema.has(key))).toEqual([]);
});

it("leaves no key of the schema without mention", () => {
  // Words inside code spans and blocks of the page.
  const code = [...page.matchAll(/```.*?```|`[^`\n]+`/gs)].map((match) => match[0]).join("\n");
  const missing = [...inSchema].filter(
    (key) => key !== "$schema" && !new RegExp(`(?<![\\w-])${key.replace(/[$]/g, "\\$")}(?![\\w-])`).test(code),
  );
  expect(missing).toEqual([]);
});

it("uses every step keyword, so that a reader sees each once in the example or the text", () => {
  const steps = JSON.stringify((parse(smallLathe) as { routines: unknown }).routines);
  for (const keyword of ["go", "hold", "free", "drive", "pulse", "await", "dwell", "press", "run", "each"])
    expect(steps).toContain(`"${keyword}":`);
});

it("states the units that the loader reads", () => {
  const units = page.slice(page.indexOf("| quantity | units |"), page.indexOf("Any product or quotient"));
  for (const [, unit] of units.matchAll(/`([^`]+)`/g)) {
    const wrong = smallLathe.replace("stroke: 20 mm", `stroke: ${/^\d/.test(unit!) ? unit : `20 ${unit}`}`);
    const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": wrong }));
    const codes = loaded.ok ? [] : loaded.issues.map(({ code }) => code);
    // A length is accepted; any other unit is known, and does not fit.
    expect(codes.length === 0 || (codes.length === 1 && codes[0] === "wrong-unit"), `${unit}: ${codes.join()}`).toBe(
      true,
    );
  }
});

it("lists every code that the cell floor and the readers of mesh files report, and no other", () => {
  const textOf = (folder: URL) =>
    readdirSync(folder, { recursive: true, encoding: "utf8" })
      .filter((name) => name.endsWith(".ts") && !name.endsWith(".test.ts"))
      .map((name) => readFileSync(new URL(name, folder), "utf8"))
      .join("\n");
  const meshes = textOf(new URL("../../src/exchange/mesh/", import.meta.url));
  const sources = `${textOf(new URL("../../src/cell/", import.meta.url))}\n${meshes}\n${readFileSync(new URL("../../src/cli/mesh-files.ts", import.meta.url), "utf8")}`;
  // Codes stand as the first argument of the log's functions, or as `code:`; names make `missing-` codes of their own.
  const reported = [
    ...sources.matchAll(
      /(?:\blog\s*\.(?:add|wrong|report)\(|giveUp\(|wrongMesh\(|WrongGltf\(|atShape\(|\bcode: )\s*"([a-z-]+)"(?=\s*,)/g,
    ),
  ].map((match) => match[1]!);
  const chosen = [...sources.matchAll(/"([a-z]+(?:-[a-z]+)+)"/g)].map((match) => match[1]!);
  const issues = readFileSync(new URL("../../docs/reference/cell-file-issues.md", import.meta.url), "utf8");
  const listed = new Set(
    [...issues.matchAll(/^\| (`.*?) \|/gm)].flatMap((row) =>
      [...row[1]!.matchAll(/`([a-z-]+)`/g)].map((code) => code[1]!),
    ),
  );
  expect(new Set(reported).size).toBeGreaterThan(40);
  expect(reported.filter((code) => !listed.has(code))).toEqual([]);
  const known = new Set([...reported, ...chosen]);
  const things =
    /^missing-(frame|machine|device|process|holder|zone|signal|pose|routine|part|gripper|port|shape|operator-place|stage|grip|position|link|joint|variant)$/;
  expect(
    [...listed].filter(
      (code) => !known.has(code) && !things.test(code) && code !== "recursion" && code !== "tab" && code !== "outside",
    ),
  ).toEqual([]);
});
