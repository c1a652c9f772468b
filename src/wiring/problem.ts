/** A problem of the wiring, as data: what the check makes a finding of. */

export interface WiringProblem {
  /** Stable, kebab-case. */
  readonly code: string;
  readonly severity: "error" | "warning" | "caution";
  /** Path in the cell. */
  readonly path: readonly (string | number)[];
  /** Tells apart problems of one code at one path. */
  readonly subject: string;
  readonly message: string;
  readonly mend: string;
}
