/**
 * Motions for proofs in tests, without planning any: plausible times, and zones by where the arm comes from and goes to. What
 * leads to a machine's holder, or away from one, passes the zones that the machine's devices sweep.
 */
import type { Cell } from "../../src/cell/model.ts";
import type { StepMotion } from "../../src/proof/index.ts";
import { type FlowNode, flowOf } from "../../src/proof/tending/flow.ts";

/** Seconds of a motion by joints and of one along a line. */
const JOINT = [0.5, 0.7] as const;
const LINE = [0.3, 0.5] as const;

/** Motions of every `go` that the routine can come to. */
export function givenMotions(cell: Cell, variant: string): ReadonlyMap<string, StepMotion> {
  const outcome = flowOf(cell, variant);
  if (!outcome.ok) throw new Error(outcome.reason);
  const { nodes, start } = outcome.flow;
  const inside = new Map<number, Set<string>>();
  const work = [start];
  inside.set(start, new Set());
  const zones = new Map<string, { through: Set<string>; ends: Set<string>; time: readonly [number, number] }>();
  while (work.length > 0) {
    const id = work.pop()!;
    const node = nodes[id]!;
    let after = inside.get(id)!;
    if (node.kind === "step" && node.step.kind === "go") {
      const { step } = node;
      const name = step.to.kind === "holder" ? (step.to.at.variants.get(variant) ?? step.to.at.default) : undefined;
      const ends = sweptAround(cell, name);
      const known = zones.get(step.id) ?? { through: new Set(), ends, time: step.by === "joint" ? JOINT : LINE };
      for (const zone of [...after, ...ends]) known.through.add(zone);
      zones.set(step.id, known);
      after = ends;
    }
    for (const next of following(node)) {
      const known = inside.get(next);
      const merged = new Set([...(known ?? []), ...after]);
      if (known !== undefined && merged.size === known.size) continue;
      inside.set(next, merged);
      work.push(next);
    }
  }
  return new Map(
    [...zones].map(
      ([
        id,
        {
          through,
          ends,
          time: [shortest, longest],
        },
      ]) => [id, { shortest, longest, zones: [...through].sort(), endZones: [...ends].sort() }],
    ),
  );
}

/** Zones swept by the devices of the machine that a holder belongs to. */
function sweptAround(cell: Cell, holder: string | undefined): Set<string> {
  const device = cell.holders.get(holder ?? "")?.device;
  for (const machine of cell.machines.values())
    if (machine.devices.some(({ name }) => name === device))
      return new Set(machine.devices.flatMap(({ sweeps }) => sweeps));
  return new Set();
}

function following(node: FlowNode): number[] {
  switch (node.kind) {
    case "step":
      return node.otherwise === undefined ? [node.next] : [node.next, node.otherwise];
    case "choice":
      return [node.yes, node.no];
    case "enter":
    case "jump":
      return [node.next];
    case "again":
      return [node.body, node.after];
    case "end":
    // Of the flow of a routine there are no others.
    case "added":
      return [];
  }
}
