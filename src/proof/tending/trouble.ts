/** What can go wrong in a tending cell, as the proof looks for it. */

export type TroubleKind =
  | "part-dropped"
  | "freed-before-clamped"
  | "freed-unclamped"
  | "unclamped-before-held"
  | "released-unheld"
  | "moved-while-both-hold"
  | "moved-before-jaws"
  | "moved-before-clamp"
  | "moved-from-inside"
  | "held-by-two-grippers"
  | "hold-nothing"
  | "free-nothing"
  | "place-occupied"
  | "zone-shared"
  | "arm-inside-at-start"
  | "need-lost"
  | "process-unclamped"
  | "process-while-held"
  | "taken-in-process"
  | "process-without-part"
  | "start-refused"
  | "start-while-running"
  | "pulse-too-short"
  | "pulses-too-close"
  | "pulse-on-high-signal"
  | "hold-already-closed"
  | "free-already-open"
  | "stale-input"
  | "limit-passed"
  | "gripper-not-commanded";

/** Kinds that drop or crush a part, or let bodies meet; the others lose a command or a part's order and end in a stop or a wait. */
const HARMFUL: ReadonlySet<TroubleKind> = new Set<TroubleKind>([
  "part-dropped",
  "freed-before-clamped",
  "freed-unclamped",
  "unclamped-before-held",
  "released-unheld",
  "moved-while-both-hold",
  "moved-before-jaws",
  "moved-before-clamp",
  "moved-from-inside",
  "held-by-two-grippers",
  "place-occupied",
  "zone-shared",
  "arm-inside-at-start",
  "need-lost",
  "process-unclamped",
  "process-while-held",
  "taken-in-process",
]);

export const isHarmful = (kind: TroubleKind): boolean => HARMFUL.has(kind);

/** One way in which something can go wrong at one place of the cell. */
export interface Trouble {
  readonly kind: TroubleKind;
  /** Step that runs into it; undefined when a device or process does. */
  readonly stepId?: string;
  /** Device, gripper, process, signal or zone concerned. */
  readonly subject: string;
  /** The other party: holder, device, process. */
  readonly other?: string;
}

/** What becomes of a trouble: all ends there, or it is noted and things take their course, with or without a note. */
export type Watch = "end" | "note" | "no";

/** Equal for the same trouble. */
export const troubleKey = ({ kind, stepId, subject, other }: Trouble): string =>
  [kind, stepId, subject, other].join("|");

/** Numbers troubles from 1, each once. */
export class TroubleList {
  readonly #known = new Map<string, number>();
  readonly list: Trouble[] = [];

  number(trouble: Trouble): number {
    const key = troubleKey(trouble);
    let number = this.#known.get(key);
    if (number === undefined) {
      this.list.push(trouble);
      number = this.list.length;
      this.#known.set(key, number);
    }
    return number;
  }
}
