/** Cells for tests: texts in memory, and the small lathe cell. */
import { readFileSync } from "node:fs";
import type { CellSource } from "../../src/cell/index.ts";

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
