/** How much of a stretch of time the arm and the machines are in use. */
import type { Cell } from "../cell/model.ts";
import type { Engagement } from "./processes.ts";
import type { MachineUse } from "./run.ts";

interface Span {
  readonly start: number;
  readonly end: number;
}

/** Time covered by the spans inside the window, overlaps counted once, s. */
export function covered(spans: readonly Span[], window: Span): number {
  let sum = 0;
  let until = window.start;
  for (const { start, end } of [...spans].sort((a, b) => a.start - b.start)) {
    const from = Math.max(start, until);
    const to = Math.min(end, window.end);
    if (to > from) {
      sum += to - from;
      until = to;
    }
  }
  return sum;
}

/** Use of each machine in the window, per part. */
export function machineUse(
  cell: Cell,
  processes: readonly { readonly lane: string; readonly start: number; readonly end: number }[],
  engagements: readonly Engagement[],
  window: Span & { readonly parts: number },
): MachineUse[] {
  const length = window.end - window.start;
  return [...cell.machines.values()].map((machine) => {
    const spindles = new Set(machine.processes.filter((p) => p.spindle).map((p) => p.name));
    const busy = covered(
      processes.filter((a) => spindles.has(a.lane)),
      window,
    );
    const engaged = covered(
      engagements.filter((e) => e.machine === machine.name),
      window,
    );
    return {
      machine: machine.name,
      spindleBusy_s: busy / window.parts,
      spindleIdle_s: (length - busy) / window.parts,
      engaged_s: engaged / window.parts,
    };
  });
}
