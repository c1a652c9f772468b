/** How a table of mutants is written: what each slip means, argued by hand from what the routine is for. */
import type { TroubleKind } from "../../src/proof/index.ts";

export type Argued =
  /** A part falls, is crushed or fought over, or bodies meet. */
  | { readonly is: "dangerous"; readonly as: readonly TroubleKind[]; readonly why: string }
  /** A command is lost or a wait cannot end: the cell stops or a part is served out of order, and nothing is harmed at once. */
  | { readonly is: "order fault"; readonly as: readonly TroubleKind[]; readonly why: string }
  /** Wrong, but by where the arm stands or by what becomes of the part: measured by `check`, with one of these codes. */
  | { readonly is: "told by check"; readonly as: readonly string[]; readonly why: string }
  | { readonly is: "harmless"; readonly why: string };

export type MutantTable = Readonly<Record<string, Argued>>;

export const dangerous = (why: string, ...as: TroubleKind[]): Argued => ({ is: "dangerous", as, why });
export const orderFault = (why: string, ...as: TroubleKind[]): Argued => ({ is: "order fault", as, why });
export const toldByCheck = (why: string, ...as: string[]): Argued => ({ is: "told by check", as, why });
export const harmless = (why: string): Argued => ({ is: "harmless", why });

/* Arguments for whole classes. */
export const passedOnTheWay = harmless(
  "only a point passed on the way is lost or passed in another order; whether the other way is clear is measured, not ordered",
);
export const nobodyListens = harmless("no device and no process of the cell listens to this output");
export const atOnce = harmless("both outputs change at the same instant, before anything can react");
export const patient = harmless("still longer than the slowest that is waited for, the scan included");
export const tooImpatient = orderFault(
  "shorter than the slowest that is waited for: it stops a sound cell",
  "limit-passed",
);
export const neverComes = orderFault("what is waited for was never told to come", "limit-passed");
export const maybeUnseen = (why: string): Argued =>
  dangerous(`half as wide as the machine asks for, so it may go unseen: ${why}`, "pulse-too-short");
export const jawsStillClosing = dangerous(
  "the arm moves off while the jaws may still be closing: the part is not held yet",
  "moved-before-jaws",
);
export const jawsStillOpening = dangerous(
  "the arm moves off while the jaws may still be opening: the part is dragged along",
  "moved-before-jaws",
);
export const emptyHanded = orderFault(
  "the arm comes without a part and opens jaws that are open: nothing is loaded",
  "free-already-open",
);
export const stillHolding = orderFault(
  "the part is never left: the next pick closes jaws that are closed",
  "hold-already-closed",
);
export const holdsAboveThePart = toldByCheck("the jaws close where no part is", "hold-away-from-place");
export const freesAboveThePlace = toldByCheck("the part is let go above its place", "free-away-from-place");
