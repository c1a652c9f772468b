/** Alternatives of a cell in words: "faster door: lathe.door time 50 %, investment +4000". */

import type { Cell, Device, Estimate, Process, TimeRange } from "../../cell/model.ts";
import { nearest } from "../../cell/text/did-you-mean.ts";

export interface Alternative {
  readonly name: string;
  readonly cell: Cell;
  /** In place of the parts that the trays hold. */
  readonly filling?: number;
}

export type VariationOutcome =
  | { readonly ok: true; readonly value: Alternative }
  | { readonly ok: false; readonly message: string };

const FORM =
  "a name, a colon, and changes separated by commas: DEVICE or PROCESS time N %, filling N, people N, scrap N %, investment +N";

/**
 * The cell with the changes made. Times are changed at both ends of their range; a process also in the times that parts state.
 * Whether a larger filling fits under the arm is not looked at.
 */
export function variedCell(cell: Cell, text: string): VariationOutcome {
  const colon = text.indexOf(":");
  const name = text.slice(0, colon).trim();
  const changes = text
    .slice(colon + 1)
    .split(",")
    .map((change) => change.trim());
  if (colon < 1 || name === "" || changes.some((change) => change === ""))
    return { ok: false, message: `found ${text}; expected ${FORM}` };
  let varied: Alternative = { name, cell };
  for (const change of changes) {
    const made = changed(varied, change);
    if (typeof made === "string") return { ok: false, message: `${name}: found ${change}; expected ${made}` };
    varied = made;
  }
  return { ok: true, value: varied };
}

function changed(from: Alternative, change: string): Alternative | string {
  const { cell } = from;
  const time = /^(\S+) time ([\d.]+) ?%$/.exec(change);
  if (time) {
    const factor = Number(time[2]) / 100;
    if (!(factor > 0 && factor <= 100)) return "a share of the present time above 0 % and at most 10000 %";
    const scaled = scaledTimes(cell, time[1]!, factor);
    return scaled === undefined ? knownDevices(cell, time[1]!) : { ...from, cell: scaled };
  }
  const count = /^(filling|people) (\d+)$/.exec(change);
  if (count) {
    const value = Number(count[2]);
    if (value < 1 || value > 1e6) return "a whole number from 1 to 1000000";
    if (count[1] === "filling") return { ...from, filling: value };
    const people = cell.production?.people;
    if (people === undefined) return "a cell that states production.people";
    return { ...from, cell: withProduction(cell, { people: { ...people, attending: value } }) };
  }
  const scrap = /^scrap ([\d.]+) ?%$/.exec(change);
  if (scrap) {
    const share = Number(scrap[1]) / 100;
    return share >= 0 && share <= 1
      ? { ...from, cell: withProduction(cell, { scrap: share }) }
      : "a share of 0 to 100 %";
  }
  const money = /^investment ?([+-]) ?([\d.]+)$/.exec(change);
  if (money) {
    const { costs } = cell.production ?? {};
    if (costs?.investment === undefined) return "a cell that states production.costs.investment";
    const by = Number(money[2]) * (money[1] === "-" ? -1 : 1);
    if (!Number.isFinite(by)) return "a number";
    const items = new Map<string, Estimate>([
      ...costs.investment,
      [`change ${costs.investment.size}`, { low: by, likely: by, high: by }],
    ]);
    const total = [...items.values()].reduce((sum, item) => sum + item.low, 0);
    if (total < 0) return "an investment that stays at least 0";
    return { ...from, cell: withProduction(cell, { costs: { ...costs, investment: items } }) };
  }
  return FORM.slice(FORM.indexOf("DEVICE"));
}

const withProduction = (cell: Cell, change: object): Cell => ({
  ...cell,
  production: { batches: [], ...cell.production, ...change },
});

const scale = ({ min, max }: TimeRange, factor: number): TimeRange => ({
  min: (min * factor) as TimeRange["min"],
  max: (max * factor) as TimeRange["max"],
});

/** Undefined when nothing has that name. */
function scaledTimes(cell: Cell, name: string, factor: number): Cell | undefined {
  let found = false;
  const device = (d: Device): Device => {
    if (d.name !== name) return d;
    found = true;
    return { ...d, time: new Map([...d.time].map(([position, time]) => [position, scale(time, factor)])) };
  };
  const process = (p: Process): Process => {
    if (p.name !== name) return p;
    found = true;
    return p.time === undefined ? p : { ...p, time: scale(p.time, factor) };
  };
  const machines = new Map(
    [...cell.machines].map(([key, m]) => [
      key,
      { ...m, devices: m.devices.map(device), processes: m.processes.map(process) },
    ]),
  );
  const grippers = new Map([...cell.tool.grippers].map(([key, g]) => [key, { ...g, device: device(g.device) }]));
  if (!found) return undefined;
  const parts = new Map(
    [...cell.parts].map(([key, part]) => {
      const own = part.processTimes.get(name);
      return [
        key,
        own === undefined
          ? part
          : { ...part, processTimes: new Map([...part.processTimes, [name, scale(own, factor)]]) },
      ];
    }),
  );
  return { ...cell, machines, parts, tool: { ...cell.tool, grippers } };
}

function knownDevices(cell: Cell, name: string): string {
  const known = [
    ...[...cell.machines.values()].flatMap((m) => [...m.devices, ...m.processes].map((d) => d.name)),
    ...cell.tool.grippers.keys(),
  ];
  const near = nearest(name, known);
  return `a device or process of the cell: ${near === undefined ? known.join(", ") : near}`;
}
