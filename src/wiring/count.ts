/** Counts the signals of a cell against the points that its controller, flange and remote stations have. */
import type { Cell } from "../cell/model.ts";
import { type Assignment, assignPoints } from "./assign.ts";
import { type PointKind, pointKindOf, pointsOf } from "./points.ts";

export interface PortUse {
  readonly name: string;
  /** Used and available points. */
  readonly digitalInputs: readonly [used: number, available: number];
  readonly digitalOutputs: readonly [used: number, available: number];
  readonly analogueInputs: readonly [used: number, available: number];
  readonly analogueOutputs: readonly [used: number, available: number];
}

/**
 * Use of every port. A signal that finds no point counts on the port that it names, else on the first, so that used points
 * beyond the available ones are what is missing; registers use no points.
 */
export function countPoints(cell: Cell, assignment: Assignment = assignPoints(cell)): PortUse[] {
  const ports = [...cell.controller.ports.values()];
  return ports.map((port, index) => {
    const here = [...cell.signals.values()].filter((signal) => {
      const at = assignment.points.get(signal.name)?.port ?? signal.port;
      return at === undefined ? index === 0 : at === port.name;
    });
    const use = (kind: PointKind): readonly [number, number] => [
      here.filter((signal) => pointKindOf(signal) === kind).length,
      pointsOf(port, kind),
    ];
    return {
      name: port.name,
      digitalInputs: use("digital inputs"),
      digitalOutputs: use("digital outputs"),
      analogueInputs: use("analogue inputs"),
      analogueOutputs: use("analogue outputs"),
    };
  });
}
