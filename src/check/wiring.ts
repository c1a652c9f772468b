/** The wiring of the cell in the check: its findings, and its place in the report. */
import type { Cell } from "../cell/model.ts";
import type { WiringSurvey } from "../wiring/index.ts";
import { FindingList } from "./findings.ts";
import { type CheckReport, SCHEMA_VERSION, type SignalReport } from "./result.ts";

export function addWiringFindings({ problems }: WiringSurvey, findings: FindingList): void {
  for (const { code, severity, path, message, mend, subject } of problems)
    findings.add(code, severity, path, message, mend, subject);
}

export function signalReport(cell: Cell, { ports, schedule, assignment }: WiringSurvey): SignalReport {
  const rows = new Map(schedule.map((row) => [row.signal, row]));
  return {
    ports,
    points: [...cell.signals.keys()].map((signal) => {
      const { terminal, port, point, how } = rows.get(signal)!;
      return { signal, terminal: terminal || null, port: port || null, point, how };
    }),
    stationsNeeded: assignment.proposed.stations.length,
  };
}

/** The whole wiring as one JSON document, `wire --json`. */
export interface WiringDocument {
  readonly schemaVersion: number;
  readonly cell: string;
  readonly ports: WiringSurvey["ports"];
  readonly schedule: readonly (Omit<WiringSurvey["schedule"][number], "current" | "voltage"> & {
    readonly current_A: number | null;
    readonly voltage_V: number | null;
  })[];
  readonly stations: WiringSurvey["stations"];
  readonly groups: readonly object[];
  readonly supplies: readonly object[];
  readonly cables: readonly { readonly signal: string; readonly loop_ohm: number; readonly atLoad_V: number | null }[];
  readonly pulses: readonly object[];
  readonly unplaced: readonly string[];
  readonly findings: CheckReport["findings"];
}

export function wiringDocument(cell: Cell, survey: WiringSurvey): WiringDocument {
  const findings = new FindingList(cell);
  addWiringFindings(survey, findings);
  const sum = ({
    all,
    atOnce,
    limit,
    signals,
    unknown,
  }: WiringSurvey["groups"][number] | WiringSurvey["supplies"][number]) => ({
    all_A: all,
    atOnce_A: atOnce,
    limit_A: limit,
    signals,
    unknown,
  });
  return {
    schemaVersion: SCHEMA_VERSION,
    cell: cell.name,
    ports: survey.ports,
    schedule: survey.schedule.map(({ current, voltage, ...row }) => ({
      ...row,
      current_A: current,
      voltage_V: voltage,
    })),
    stations: survey.stations,
    groups: survey.groups.map((group) => ({ port: group.port, from: group.from, to: group.to, ...sum(group) })),
    supplies: survey.supplies.map((supply) => ({
      supply: supply.supply,
      voltage_V: supply.voltage,
      ...sum(supply),
    })),
    cables: survey.cables.map(({ signal, resistance, left }) => ({ signal, loop_ohm: resistance, atLoad_V: left })),
    pulses: survey.pulses.map(({ signal, direction, width, sure, needed, verdict, missing }) => ({
      signal,
      direction,
      width_s: width,
      sure_s: sure,
      needed_s: needed,
      verdict,
      missing,
    })),
    unplaced: survey.assignment.unplaced,
    findings: findings.sorted().map(({ place, ...rest }) => ({ ...rest, ...place })),
  };
}
