/** A file for a picture: the ending of its name says which kind. */
import { UnusableInput } from "./exit-status.ts";
import type { PictureFormat } from "./job.ts";
import { claimFile, type WholeFile } from "./whole-file.ts";

/** Claims the file. @throws UnusableInput for another ending than .svg or .png, or when nothing can be written there */
export function claimPicture(path: string): { readonly file: WholeFile; readonly format: PictureFormat } {
  const format = /\.(svg|png)$/i.exec(path)?.[1]?.toLowerCase() as PictureFormat | undefined;
  if (format === undefined)
    throw new UnusableInput(`cannot write a picture to ${path || '""'}: give it a name that ends in .svg or .png`);
  return { file: claimFile(path, { what: "picture", ending: `.${format}` }), format };
}
