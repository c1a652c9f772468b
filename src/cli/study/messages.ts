/** What the main thread and the threads of a study tell each other. Plain data. */
import type { Study } from "../../study/index.ts";

/** With what a thread starts. */
export interface StudyThreadData {
  readonly kind: "study thread";
  readonly cell: string;
  /** The texts that the main thread read, by path, so that a file changed meanwhile changes nothing. */
  readonly texts: ReadonlyMap<string, string>;
  readonly study: Study;
}

export type StudyTask =
  /** Layouts `from` to `to - 1`. */
  | { readonly kind: "rows"; readonly from: number; readonly to: number }
  | { readonly kind: "check"; readonly layout: number };

export type StudyAnswer =
  | { readonly kind: "rows"; readonly from: number; readonly lines: readonly string[] }
  | { readonly kind: "check"; readonly layout: number; readonly line: string }
  /** A bug: thrown inside the computation. */
  | { readonly kind: "failure"; readonly message: string; readonly stack: string };
