/** Counts the signals of a cell against the points that its controller, flange and remote stations have. */
import type { Cell } from "../cell/model.ts";

export interface PortUse {
  readonly name: string;
  /** Used and available points. */
  readonly digitalInputs: readonly [used: number, available: number];
  readonly digitalOutputs: readonly [used: number, available: number];
  readonly analogueInputs: readonly [used: number, available: number];
  readonly analogueOutputs: readonly [used: number, available: number];
}

/**
 * Use of every port. Signals that name no port count on the first; registers use no points.
 */
export function countPoints(cell: Cell): PortUse[] {
  const ports = [...cell.controller.ports.values()];
  return ports.map((port, index) => {
    const here = [...cell.signals.values()].filter((s) => (s.port === undefined ? index === 0 : s.port === port.name));
    const count = (kind: string, direction: string) =>
      here.filter((s) => s.kind === kind && s.direction === direction).length;
    return {
      name: port.name,
      digitalInputs: [count("digital", "input"), port.digitalInputs],
      digitalOutputs: [count("digital", "output"), port.digitalOutputs],
      analogueInputs: [count("analogue", "input"), port.analogueInputs],
      analogueOutputs: [count("analogue", "output"), port.analogueOutputs],
    };
  });
}
