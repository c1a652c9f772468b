/** Problems of input as data: collected, never thrown, formatted only at the edge. */

/** Where something stands in a source text. Line and column count from 1. */
export interface SourcePlace {
  readonly file: string;
  readonly line: number;
  readonly column: number;
}

export interface InputIssue {
  /** Stable, kebab-case: "unknown-key", "wrong-unit", "missing-pose" … */
  readonly code: string;
  /** Path in the cell, such as "routines.load[3].go.to". */
  readonly path: string;
  readonly place: SourcePlace;
  /** What was found, as written. */
  readonly found: string;
  readonly expected: string;
  /** How to mend it, one sentence. */
  readonly mend: string;
}

/** One issue as text: file:line:column: path: found …; expected …. Mend. */
export function formatIssue(issue: InputIssue): string {
  const { place } = issue;
  const where = issue.path === "" ? "" : `${issue.path}: `;
  return `${place.file}:${place.line}:${place.column}: ${where}found ${issue.found}; expected ${issue.expected}. ${issue.mend}`;
}

export type Loaded<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly issues: readonly InputIssue[] };
