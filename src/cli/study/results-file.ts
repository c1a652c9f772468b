/** The file that a study's results go into line by line, so that what is in it is of use whenever the program stops. */
import { createHash } from "node:crypto";
import { closeSync, fsyncSync, ftruncateSync, openSync, readFileSync, writeSync } from "node:fs";
import {
  headerLine,
  type KeptResults,
  keptResults,
  RESULTS_VERSION,
  type ResultsHeader,
  type Study,
} from "../../study/index.ts";
import { UnusableInput } from "../exit-status.ts";
import { version } from "../version.ts";
import { reasonOf } from "../whole-file.ts";

export interface ResultsFile {
  readonly path: string;
  /** Appends whole lines. @throws UnusableInput when the disk refuses */
  write(lines: string): void;
  close(): void;
}

/** Tells whether results go with what is asked: of the cell's texts, the study and the program's version. */
export function hashOf(texts: ReadonlyMap<string, string>, study: Study): string {
  const hash = createHash("sha256");
  const add = (text: string) => hash.update(`${text.length}:`).update(text);
  add(version);
  // How many layouts are checked in the end changes none of the results before.
  add(JSON.stringify({ ...study, checks: 0 }));
  for (const [name, text] of texts) {
    add(name.slice(name.lastIndexOf("/") + 1));
    add(text);
  }
  return hash.digest("hex").slice(0, 32);
}

export function headerOf(study: Study, layouts: number, hash: string): ResultsHeader {
  return {
    study: study.title,
    schemaVersion: RESULTS_VERSION,
    hash,
    layouts,
    axes: study.axes.map(({ name }) => name),
  };
}

/** Begins a new file. @throws UnusableInput where there is one already, or it cannot be written */
export function createResults(path: string, header: ResultsHeader): ResultsFile {
  let handle: number;
  try {
    handle = openSync(path, "wx");
  } catch (error) {
    if ((error as { code?: unknown }).code === "EEXIST")
      throw new UnusableInput(`${path} is there already: go on with it by --resume ${path}, or name another file`);
    throw new UnusableInput(`cannot write ${path}: ${reasonOf(error)}`);
  }
  const file = appending(path, handle);
  file.write(headerLine(header));
  return file;
}

/**
 * Goes on with a file: what is whole in it is kept, the rest cut off.
 * @throws UnusableInput when it cannot be read, is no such file, or belongs to another cell, study or version
 */
export function resumeResults(
  path: string,
  header: ResultsHeader,
): { readonly file: ResultsFile; readonly kept: KeptResults } {
  let text: string;
  try {
    text = readFileSync(path, "utf8");
  } catch (error) {
    throw new UnusableInput(`cannot read ${path}: ${reasonOf(error)}`);
  }
  const kept = keptResults(text);
  if (kept.header === undefined)
    throw new UnusableInput(
      `${path}: no results of a study: its first line is not that of a results file. Name the file that --results wrote.`,
    );
  if (kept.header.hash !== header.hash)
    throw new UnusableInput(
      `${path}: results of another study: the cell, the study or Millhand's version has changed since. Undo the change, or begin anew with --results and another file.`,
    );
  let handle: number;
  try {
    handle = openSync(path, "r+");
    ftruncateSync(handle, Buffer.byteLength(text.slice(0, kept.length)));
    closeSync(handle);
    handle = openSync(path, "a");
  } catch (error) {
    throw new UnusableInput(`cannot write ${path}: ${reasonOf(error)}`);
  }
  return { file: appending(path, handle), kept };
}

function appending(path: string, handle: number): ResultsFile {
  return {
    path,
    write(lines) {
      try {
        writeSync(handle, lines);
      } catch (error) {
        throw new UnusableInput(`cannot write ${path}: ${reasonOf(error)}`);
      }
    },
    close() {
      fsyncSync(handle);
      closeSync(handle);
    },
  };
}
