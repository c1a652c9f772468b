/** A cell with the texts that it was read from. */
import { type Cell, type CellSource, loadCell } from "../../cell/index.ts";
import { readUrdf } from "../../exchange/index.ts";
import { UnusableInput } from "../exit-status.ts";
import { fileSource } from "../file-source.ts";
import { issuesText } from "../issues-text.ts";

/** @throws UnusableInput with every issue */
export function loadCellTexts(path: string): { readonly cell: Cell; readonly texts: ReadonlyMap<string, string> } {
  const texts = new Map<string, string>();
  const files = fileSource(path);
  const source: CellSource = {
    read(name) {
      const got = files.read(name);
      if (!("problem" in got)) texts.set(name, got.text);
      return got;
    },
  };
  const loaded = loadCell(path, source, { readArm: readUrdf });
  if (!loaded.ok) throw new UnusableInput(issuesText(loaded.issues));
  return { cell: loaded.value, texts };
}
