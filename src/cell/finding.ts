/** A stated problem or caution: what Millhand tells the practitioner about a cell. */
import type { SourcePlace } from "./issue.ts";

export type Severity = "error" | "warning" | "caution";

export interface Finding {
  /** Stable, kebab-case: "out-of-reach", "dwell-too-short" … */
  readonly code: string;
  readonly severity: Severity;
  /** Path in the cell, such as "routines.load[3]". */
  readonly where: string;
  readonly place: SourcePlace;
  /** What is wrong, with numbers and their units. */
  readonly message: string;
  /** What would mend it. */
  readonly mend: string;
}
