/** A layout that is to be taken: what it changes in the files of the cell, and the files themselves in a new folder. */
import { mkdirSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import type { TextChange } from "../../study/index.ts";
import { UnusableInput } from "../exit-status.ts";
import { reasonOf } from "../whole-file.ts";

export interface TakenLayout {
  readonly layout: number;
  readonly changes: readonly TextChange[];
  /** Where the changed cell was written. */
  readonly folder: string | undefined;
}

/**
 * Writes the texts of a cell into a new folder, by their names below the folder of the entry. Mesh files are not copied.
 * @throws UnusableInput when the folder is there already or cannot be written
 */
export function writeCellFolder(folder: string, entry: string, texts: ReadonlyMap<string, string>): void {
  const home = entry.slice(0, entry.lastIndexOf("/") + 1);
  try {
    mkdirSync(folder);
    for (const [name, text] of texts) {
      const path = join(folder, name.slice(home.length));
      mkdirSync(dirname(path), { recursive: true });
      writeFileSync(path, text);
    }
  } catch (error) {
    if ((error as { code?: unknown }).code === "EEXIST")
      throw new UnusableInput(`will not write into ${folder}, which is there already: name a new folder`);
    throw new UnusableInput(`cannot write the cell to ${folder}: ${reasonOf(error, dirname(folder))}`);
  }
}
