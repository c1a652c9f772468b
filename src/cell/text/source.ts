/** Where the texts of a cell come from, and how its files name one another. */

export interface CellSource {
  /**
   * Text of a file. `path` is the entry as given to the loader, or a path in the entry's folder: the entry's folder, "/", and the
   * normalised path of the file named. '/' separates folders; nothing outside the entry's folder is ever asked for.
   */
  read(
    path: string,
  ):
    | { readonly text: string }
    | { readonly problem: "missing" | "unreadable" | "outside" | "too large"; readonly detail: string };
}

/** Folder of a path, with its final "/"; "" when there is none. */
export function folderOf(path: string): string {
  return path.slice(0, path.lastIndexOf("/") + 1);
}

/**
 * Path of a file named in another file, both relative to the cell's folder.
 * @param from folder of the naming file relative to the cell's folder, "" or with a final "/"
 * @returns undefined when the path is empty, absolute, has a drive or a scheme, or leads out of the cell's folder
 */
export function resolveIn(from: string, named: string): string | undefined {
  if (named === "" || /^[/\\]|^[A-Za-z][A-Za-z0-9+.-]*:|\\|\0/.test(named)) return undefined;
  const parts: string[] = [];
  for (const part of `${from}${named}`.split("/")) {
    if (part === "" || part === ".") continue;
    if (part === "..") {
      if (parts.pop() === undefined) return undefined;
    } else parts.push(part);
  }
  return parts.length === 0 || named.endsWith("/") ? undefined : parts.join("/");
}
