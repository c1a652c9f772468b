/** Bodies and places in words. */
import { machineDevices } from "../../cell/equipment.ts";
import type { Cell } from "../../cell/index.ts";
import { toMm } from "../../math/units.ts";
import type { Sighting } from "./survey.ts";

/** "3.2 mm" */
export const inMm = (metres: number): string => `${toMm(Math.abs(metres)).toFixed(1)} mm`;

/** "lathe.door 0.62 of the way from closed to open", undefined where no device moves. */
export function deviceWords({ pair, share }: Sighting): string | undefined {
  const { device, slide } = pair[1];
  if (device === undefined || slide === undefined) return undefined;
  const { from, to } = device.stretch;
  if (share === 0 || share === 1) return `${device.name} ${share === 0 ? from : to}, where it may still stand`;
  return `${device.name} ${share.toFixed(2)} of the way from ${from} to ${to}`;
}

/** "0.41 s into the motion to raw-tray, place 7" */
export function momentWords({ time, target }: Sighting): string {
  if (time === undefined) return "while the arm stands there";
  return `${time.toFixed(2)} s into the motion${target === "" ? "" : ` to ${target}`}`;
}

/** How a position of a device is known to be reached. */
export function waitFor(cell: Cell, name: string, position: string): string {
  const device = machineDevices(cell).find((d) => d.name === name);
  const feedback = device?.feedback.get(position);
  if (feedback !== undefined) return `Await ${feedback} before this step`;
  const worst = device?.time.get(position)?.max ?? 0;
  return `Dwell ${Number(worst.toFixed(3))} s, the longest time of ${name}, before this step`;
}
