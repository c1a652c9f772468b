/** Points by kind: which kind a signal wants, and how many of it a port has. */
import type { IoPort, Signal } from "../cell/model.ts";

export type PointKind =
  | "digital inputs"
  | "digital outputs"
  | "analogue inputs"
  | "analogue outputs"
  | "input registers"
  | "holding registers";

export const POINT_KINDS: readonly PointKind[] = [
  "digital inputs",
  "digital outputs",
  "analogue inputs",
  "analogue outputs",
  "input registers",
  "holding registers",
];

/** Short form on drawings and in schedules. */
export const SHORT_KINDS: Readonly<Record<PointKind, string>> = {
  "digital inputs": "DI",
  "digital outputs": "DO",
  "analogue inputs": "AI",
  "analogue outputs": "AO",
  "input registers": "IR",
  "holding registers": "HR",
};

/** Kind of point that a signal takes; a signal of kind register takes a register of a remote station. */
export function pointKindOf({ direction, kind }: Signal): PointKind {
  if (kind === "register") return direction === "input" ? "input registers" : "holding registers";
  return `${kind} ${direction}s`;
}

/** Number of points of a kind. */
export function pointsOf(port: IoPort, kind: PointKind): number {
  switch (kind) {
    case "digital inputs":
      return port.digitalInputs;
    case "digital outputs":
      return port.digitalOutputs;
    case "analogue inputs":
      return port.analogueInputs;
    case "analogue outputs":
      return port.analogueOutputs;
    case "input registers":
      return port.remote?.inputRegisters ?? 0;
    case "holding registers":
      return port.remote?.holdingRegisters ?? 0;
  }
}
