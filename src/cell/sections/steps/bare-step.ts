import type { Step } from "../../steps.ts";

type Bare<S> = S extends unknown ? Omit<S, "path" | "id" | "note"> : never;
/** A step as its keyword's value says, before it knows its path. */
export type BareStep = Bare<Step>;
