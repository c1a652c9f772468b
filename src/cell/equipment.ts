/** Devices and processes of a cell, wherever they belong. */
import type { Cell, Device, Process } from "./model.ts";

/** Devices of the machines, in the order of the file. */
export const machineDevices = ({ machines }: Pick<Cell, "machines">): Device[] =>
  [...machines.values()].flatMap(({ devices }) => devices);

/** Every device of the cell, grippers included: grippers, then machines, each in the order of the file. */
export const devicesOf = (cell: Pick<Cell, "machines" | "tool">): Device[] => [
  ...[...cell.tool.grippers.values()].map(({ device }) => device),
  ...machineDevices(cell),
];

/** Processes of the machines, in the order of the file. */
export const processesOf = ({ machines }: Pick<Cell, "machines">): Process[] =>
  [...machines.values()].flatMap(({ processes }) => processes);
