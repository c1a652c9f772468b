/** A cell with a device of every command style, for tests of what goes wrong. */
import type { Cell } from "../../src/cell/model.ts";
import { type CellSpec, cell, input, level, part, process, range, toggling } from "./builders.ts";

export type Steps = CellSpec["routines"][string];

/**
 * One gripper (0.2 to 0.4 s, no feedback), a vise on a level (0.5 to 1.0 s, closed = clamped, fed back), a toggling chuck
 * (0.5 s, width 0.2), a door moved by two outputs (1 s), a lamp by pulses (0.1 s, width 0.3), a process started by a pulse
 * of 0.2 s that works in the vise and one started by a level. Scan 0.01 s. Two raw parts.
 */
export function shop(main: Steps, more: Partial<CellSpec> & { extra?: Record<string, Steps> } = {}): Cell {
  const { extra, ...rest } = more;
  return cell({
    scan: 0.01,
    parts: [part("part"), part("other")],
    grippers: [
      { device: { name: "grip", start: "open", command: level("grip", "closed", "open"), time: range(0.2, 0.4) } },
    ],
    machines: [
      {
        name: "mill",
        devices: [
          {
            name: "mill.vise",
            start: "open",
            command: level("clamp", "closed", "open"),
            time: range(0.5, 1),
            feedback: { open: "vise-open", closed: "vise-closed" },
            clamps: "closed",
          },
          { name: "mill.chuck", start: "closed", command: toggling("toggle", 0.2), time: range(0.5), clamps: "closed" },
          {
            name: "mill.door",
            start: "closed",
            command: {
              style: "pair",
              signals: new Map([
                ["open", "door-open"],
                ["closed", "door-close"],
              ]),
            },
            time: range(1),
            feedback: { open: "door-is-open", closed: "door-is-closed" },
          },
          {
            name: "mill.lamp",
            start: "open",
            command: {
              style: "pulse",
              signals: new Map([
                ["open", "lamp-off"],
                ["closed", "lamp-on"],
              ]),
              width: 0.3,
            },
            time: range(0.1),
          },
        ],
        processes: [
          process({
            name: "mill.milling",
            machine: "mill",
            start: { signal: "start", style: "pulse", width: 0.2 },
            time: range(5),
            done: { signal: "done", style: "until start", width: 0 },
            needs: [{ device: "mill.door", position: "closed" }],
            holder: "mill.vise",
            makes: "done",
          }),
          process({
            name: "mill.wash",
            machine: "mill",
            start: { signal: "wash", style: "level", width: 0 },
            time: range(1),
            done: { signal: "washed", style: "pulse", width: 0.005 },
            needs: [{ device: "mill.door", position: "open" }],
            spindle: false,
          }),
        ],
      },
    ],
    holders: [
      { name: "raw", places: 2, start: "part" },
      { name: "finished", places: 2 },
      { name: "picky", places: 1, accepts: ["other"] },
      { name: "others", places: 1, start: "other" },
      { name: "mill.vise", device: "mill.vise" },
      { name: "mill.chuck", device: "mill.chuck", start: "part" },
    ],
    inputs: [
      "vise-open",
      "vise-closed",
      "door-is-open",
      "door-is-closed",
      "done",
      "washed",
      "nobody",
      input("button", { operator: { delay: range(1, 3), hold: 0.5 } }),
      input("fixed", { constant: false }),
    ],
    outputs: ["grip", "clamp", "toggle", "door-open", "door-close", "lamp-on", "lamp-off", "start", "wash"],
    routines: { main, ...extra },
    ...rest,
  });
}
