/** Cells for tests: texts in memory, and the small lathe cell. */
import { readFileSync } from "node:fs";
import { type Cell, type CellSource, loadCell } from "../../src/cell/index.ts";

/** A source of texts by path. */
export function textSource(files: Readonly<Record<string, string>>): CellSource {
  return {
    read: (path) => {
      const text = Object.hasOwn(files, path) ? files[path] : undefined;
      return text === undefined ? { problem: "missing", detail: `no ${path}` } : { text };
    },
  };
}

/** Text of a file in this folder. */
function cellText(name: string): string {
  return readFileSync(new URL(name, import.meta.url), "utf8");
}

export const smallLathe = cellText("small-lathe.yaml");

/** One of the example cells, by its folder. */
export function exampleCell(name: string): Cell {
  const folder = new URL(`../../examples/${name}/`, import.meta.url);
  const source: CellSource = { read: (path) => ({ text: readFileSync(new URL(path, folder), "utf8") }) };
  const loaded = loadCell("cell.yaml", source);
  if (!loaded.ok) throw new Error(loaded.issues.map((issue) => issue.found).join("\n"));
  return loaded.value;
}
