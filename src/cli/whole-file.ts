/**
 * Writes a file whole or not at all: the text goes to a temporary file beside the target, which then takes its name.
 * Whatever stops the process in between, the old file stays as it was and `discardUnfinished` removes the temporary one.
 */
import { closeSync, fsyncSync, openSync, realpathSync, renameSync, statSync, unlinkSync, writeFileSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";
import { UnusableInput } from "./exit-status.ts";

const unfinished = new Set<string>();

/** A file that has been claimed for writing: its temporary sibling exists, so the place is known to be writable. */
export interface WholeFile {
  /** Writes the content and gives the file its name. @throws UnusableInput when the disk refuses */
  finish(content: string | Uint8Array): void;
  /** Gives up and removes the temporary file. */
  discard(): void;
}

/** Endings of files that people write by hand; a mistyped option must not cost them one. */
const WRITTEN_BY_HAND = /\.(ya?ml|json|jsonl|urdf|xml)$/i;

/** What a file is to hold, for messages, and the ending that its name should have. */
export interface WholeFileKind {
  readonly what: string;
  readonly ending: string;
}

/**
 * Claims a place for a file before long work starts. A link is followed: the file it leads to is replaced. A name with an
 * ending of files that people write by hand is refused; where that is the ending of the kind, only if the file is there.
 * @throws UnusableInput when nothing can be written there
 */
export function claimFile(
  path: string,
  { what, ending }: WholeFileKind = { what: "page", ending: ".html" },
): WholeFile {
  if (path.trim() === "") throw new UnusableInput(`cannot write the ${what}: the file name is empty`);
  const there = WRITTEN_BY_HAND.test(path) && path.toLowerCase().endsWith(ending) ? existing(path) : undefined;
  if (there !== undefined)
    throw new UnusableInput(`will not write a ${what} over ${path}: name a file that is not there yet`);
  if (WRITTEN_BY_HAND.test(path) && !path.toLowerCase().endsWith(ending))
    throw new UnusableInput(`will not write a ${what} to ${path}: give it a name that ends in ${ending}`);
  const target = existing(path) ?? resolve(path);
  const temporary = join(dirname(target), `.${basename(target)}.${process.pid}.unfinished`);
  let handle: number;
  try {
    handle = openSync(temporary, "wx");
  } catch (error) {
    throw new UnusableInput(`cannot write ${path}: ${reasonOf(error, dirname(path))}`);
  }
  unfinished.add(temporary);
  const discard = () => {
    if (!unfinished.delete(temporary)) return;
    try {
      unlinkSync(temporary);
    } catch {
      // Already gone: nothing is left behind.
    }
  };
  return {
    finish(content) {
      try {
        writeFileSync(handle, content);
        fsyncSync(handle);
        closeSync(handle);
        renameSync(temporary, target);
        unfinished.delete(temporary);
      } catch (error) {
        discard();
        throw new UnusableInput(`cannot write ${path}: ${reasonOf(error, dirname(path))}`);
      }
    },
    discard,
  };
}

/** Removes every temporary file of this process. Called when the process is stopped. */
export function discardUnfinished(): void {
  for (const temporary of unfinished) {
    try {
      unlinkSync(temporary);
    } catch {
      // Already gone: nothing is left behind.
    }
  }
  unfinished.clear();
}

/** Real path of a file that is there; undefined when there is none. @throws UnusableInput for what is no regular file */
function existing(path: string): string | undefined {
  let real: string;
  try {
    real = realpathSync(path);
  } catch {
    return undefined;
  }
  const facts = statSync(real);
  if (facts.isDirectory()) throw new UnusableInput(`cannot write ${path}: it is a folder; name a file in it`);
  if (!facts.isFile()) throw new UnusableInput(`cannot write ${path}: it is not a regular file`);
  return real;
}

/** Why a file system call failed, in words. */
export function reasonOf(error: unknown, folder?: string): string {
  const code = (error as { code?: unknown }).code;
  switch (code) {
    case "ENOENT":
      return folder === undefined ? "there is no such file" : `the folder ${folder} does not exist`;
    case "EACCES":
    case "EPERM":
      return "permission denied";
    case "EISDIR":
      return "it is a folder";
    case "ENOTDIR":
      return "a part of the path is not a folder";
    case "ENOSPC":
      return "the disk is full";
    case "EROFS":
      return "the file system is read-only";
    case "ENAMETOOLONG":
      return "the name is too long";
    case "ELOOP":
      return "symbolic links form a loop";
    default:
      return error instanceof Error ? error.message : String(error);
  }
}
