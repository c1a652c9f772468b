/** A cell from its file, with everything that can be wrong with it in one message. */
import { type Cell, loadCell } from "../cell/index.ts";
import { readUrdf } from "../exchange/index.ts";
import { UnusableInput } from "./exit-status.ts";
import { fileSource } from "./file-source.ts";
import { issuesText } from "./issues-text.ts";

/** Reads a whole cell. @throws UnusableInput with every issue */
export function loadCellFile(path: string): Cell {
  const loaded = loadCell(path, fileSource(path), { readArm: readUrdf });
  if (!loaded.ok) throw new UnusableInput(issuesText(loaded.issues));
  return loaded.value;
}
