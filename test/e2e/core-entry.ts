/** The core as a page would load it: a cell's files as texts in, the report of its check out. */
import { loadCell } from "../../src/cell/index.ts";
import { checkCell } from "../../src/check/index.ts";
import { readUrdf } from "../../src/exchange/index.ts";

/** The report as JSON text; the issues when the files are no cell. */
export function checkTexts(entry: string, texts: Readonly<Record<string, string>>): string {
  const source = {
    read: (path: string) => {
      const text = texts[path];
      return text === undefined ? ({ problem: "missing", detail: "" } as const) : { text };
    },
  };
  const cell = loadCell(entry, source, { readArm: readUrdf });
  if (!cell.ok) return JSON.stringify(cell.issues);
  const outcome = checkCell(cell.value);
  return JSON.stringify(outcome.ok ? outcome.report : outcome.reason);
}
