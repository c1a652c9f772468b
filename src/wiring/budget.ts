/**
 * Currents added up: per output, per group of outputs, per supply.
 *
 * Two sums are given: with everything on, and with what the cell can have on at a time, where of the outputs of one device (one
 * per position) only the largest counts. Kirchhoff's current law; currents that are not stated are left out and named.
 */
import type { Cell } from "../cell/model.ts";
import type { Amperes, Volts } from "../math/units.ts";
import { amperes, some } from "./figures.ts";
import type { WiringProblem } from "./problem.ts";
import { placeText, type Wire } from "./wire.ts";

export interface CurrentSum {
  /** Everything on, A. */
  readonly all: Amperes;
  /** The most that the cell has on at a time, A. */
  readonly atOnce: Amperes;
  /** What it may be, A; null where not stated. */
  readonly limit: Amperes | null;
  readonly signals: readonly string[];
  /** Signals whose current is not stated: the sums are at least so much. */
  readonly unknown: readonly string[];
}

export interface GroupBudget extends CurrentSum {
  readonly port: string;
  /** First and last point of the group. */
  readonly from: number;
  readonly to: number;
}

export interface SupplyBudget extends CurrentSum {
  readonly supply: string;
  readonly voltage: Volts | null;
}

/** Sums over wires; the limit is compared elsewhere. */
export function sumCurrents(wires: readonly Wire[], limit: Amperes | undefined): CurrentSum {
  let all = 0;
  let alone = 0;
  const largest = new Map<string, number>();
  const unknown: string[] = [];
  for (const { signal, end } of wires) {
    if (signal.current === undefined) {
      unknown.push(signal.name);
      continue;
    }
    all += signal.current;
    if (end.oneOf === undefined || signal.direction === "input") alone += signal.current;
    else largest.set(end.oneOf, Math.max(largest.get(end.oneOf) ?? 0, signal.current));
  }
  let atOnce = alone;
  for (const most of largest.values()) atOnce += most;
  return { all, atOnce, limit: limit ?? null, signals: wires.map(({ signal }) => signal.name), unknown };
}

/** Groups with a stated size, of ports with digital outputs in use. */
export function groupBudgets(cell: Cell, wires: readonly Wire[]): GroupBudget[] {
  const out: GroupBudget[] = [];
  for (const port of cell.controller.ports.values()) {
    const size = port.ratings?.groupSize;
    if (size === undefined) continue;
    for (let from = 0; from < port.digitalOutputs; from += size) {
      const to = Math.min(from + size, port.digitalOutputs) - 1;
      const inside = wires.filter(
        ({ kind, place }) =>
          kind === "digital outputs" && place?.port === port.name && place.point >= from && place.point <= to,
      );
      if (inside.length > 0)
        out.push({ port: port.name, from, to, ...sumCurrents(inside, port.ratings?.groupCurrent) });
    }
  }
  return out;
}

/** Every supply of the cell with the outputs and sensors that it feeds. */
export function supplyBudgets(cell: Cell, wires: readonly Wire[]): SupplyBudget[] {
  return [...(cell.controller.supplies?.values() ?? [])].map(({ name, voltage, current }) => ({
    supply: name,
    voltage: voltage ?? null,
    ...sumCurrents(
      // Contacts and other controls' outputs at an input draw nothing of their own from the supply.
      wires.filter(
        ({ ratings, signal, kind }) =>
          ratings.supply === name &&
          (kind === "digital outputs"
            ? signal.load !== "input" || signal.current !== undefined
            : drawsAsSensor(signal)),
      ),
      current,
    ),
  }));
}

const drawsAsSensor = ({ direction, sensor, current }: Wire["signal"]): boolean =>
  direction === "input" && (current !== undefined || sensor === "proximity switch");

export function budgetProblems(
  wires: readonly Wire[],
  groups: readonly GroupBudget[],
  supplies: readonly SupplyBudget[],
): WiringProblem[] {
  const problems: WiringProblem[] = [];
  for (const wire of wires) {
    const { signal, kind, ratings } = wire;
    const limit = ratings.outputCurrent;
    if (kind !== "digital outputs" || signal.current === undefined || limit === undefined || signal.current <= limit)
      continue;
    problems.push({
      code: "output-overloaded",
      severity: "error",
      path: ["signals", signal.name],
      subject: "",
      message: `${signal.name} draws ${amperes(signal.current)} from ${placeText(wire)}, which gives ${amperes(limit)}`,
      mend: "Put a relay between, or wire it to a stronger output.",
    });
  }
  for (const group of groups)
    addSum(
      problems,
      group,
      `the outputs ${group.from} to ${group.to} of ${group.port}`,
      ["controller"],
      `${group.port}|${group.from}`,
      "group-overloaded",
      "Spread the loads over another group, or switch the large ones by relays.",
    );
  for (const supply of supplies)
    addSum(
      problems,
      supply,
      `the loads of the supply ${supply.supply}`,
      ["controller", "supplies", supply.supply],
      "",
      "supply-overloaded",
      "Take a larger supply, or a second one for the loads.",
    );
  return problems;
}

function addSum(
  problems: WiringProblem[],
  { all, atOnce, limit, signals, unknown }: CurrentSum,
  what: string,
  path: readonly string[],
  subject: string,
  code: string,
  mend: string,
): void {
  if (limit === null || all <= limit * (1 + 1e-12)) return;
  const always = atOnce > limit * (1 + 1e-12);
  const least = unknown.length > 0 ? `at least (${some(unknown)} not stated) ` : "";
  problems.push({
    code,
    severity: always ? "error" : "warning",
    path,
    subject,
    message: always
      ? `${what} (${some(signals)}) draw ${least}${amperes(atOnce)} at a time, ${amperes(limit)} are allowed`
      : `${what} (${some(signals)}) draw ${least}${amperes(all)} if all are on, ${amperes(limit)} are allowed; as the cell is meant to run at most ${amperes(atOnce)} are`,
    mend,
  });
}
