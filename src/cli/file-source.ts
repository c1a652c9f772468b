/**
 * Reads the files of a cell from disk. Only regular files in the folder of the entry or below it are read, whatever
 * links stand in the way, and only up to a size that a cell file written by people stays well below.
 */
import { closeSync, fstatSync, openSync, readSync, realpathSync } from "node:fs";
import { dirname, isAbsolute, relative, resolve, sep } from "node:path";
import type { CellSource } from "../cell/index.ts";
import { reasonOf } from "./whole-file.ts";

/** Largest file that is read, bytes. */
export const LARGEST_FILE = 5_000_000;

type Problem = Extract<ReturnType<CellSource["read"]>, { readonly problem: string }>;

/** Files as they are on disk, for a cell whose first file is `entry`. */
export function fileSource(entry: string): CellSource {
  const files = cellFolder(entry);
  return {
    read(path) {
      const got = files.read(path, LARGEST_FILE);
      if ("problem" in got) return got;
      try {
        return { text: new TextDecoder("utf-8", { fatal: true }).decode(got.bytes) };
      } catch {
        return { problem: "unreadable", detail: "it is not UTF-8 text" };
      }
    },
  };
}

/** Bytes of the entry, and of files in its folder or below it, up to a size. */
export function cellFolder(entry: string): {
  read(path: string, largest: number): { readonly bytes: Uint8Array } | Problem;
} {
  let home: string | undefined;
  return {
    read(path, largest) {
      try {
        const real = realpathSync(path);
        if (path !== entry) {
          home ??= realpathSync(dirname(resolve(entry)));
          const inside = relative(home, real);
          if (inside === ".." || inside.startsWith(`..${sep}`) || isAbsolute(inside))
            return { problem: "outside", detail: "the file lies outside the cell's folder" };
        }
        return readWhole(real, largest);
      } catch (error) {
        const code = (error as { code?: unknown }).code;
        if (code === "ENOENT" || code === "ENOTDIR") return { problem: "missing", detail: "there is no such file" };
        return { problem: "unreadable", detail: reasonOf(error) };
      }
    },
  };
}

/** Bytes of a regular file. */
function readWhole(path: string, largest: number): { readonly bytes: Uint8Array } | Problem {
  // O_NONBLOCK (2048): opening a named pipe must not wait for its writer; its kind is looked at next.
  const handle = openSync(path, process.platform === "win32" ? "r" : 0o4000);
  try {
    const facts = fstatSync(handle);
    if (facts.isDirectory()) return { problem: "unreadable", detail: "it is a folder" };
    if (!facts.isFile()) return { problem: "unreadable", detail: "it is not a regular file" };
    if (facts.size > largest) return { problem: "too large", detail: `more than ${largest / 1e6} MB` };
    const bytes = new Uint8Array(facts.size + 1);
    let length = 0;
    for (let got = -1; got !== 0 && length < bytes.length; length += got)
      got = readSync(handle, bytes, length, bytes.length - length, null);
    if (length !== facts.size) return { problem: "unreadable", detail: "it changed while it was read" };
    return { bytes: bytes.subarray(0, length) };
  } finally {
    closeSync(handle);
  }
}
