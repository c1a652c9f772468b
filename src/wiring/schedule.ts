/** The terminal schedule: one row for every signal, with terminal, point, and what it goes to. */
import type { Cell, IoPort } from "../cell/model.ts";
import type { Amperes, Volts } from "../math/units.ts";
import type { Assignment } from "./assign.ts";
import { POINT_KINDS, type PointKind, pointsOf, SHORT_KINDS } from "./points.ts";
import type { StationMap } from "./remote-map.ts";
import type { Wire } from "./wire.ts";

export interface ScheduleRow {
  /** "X1:4": terminal strip of the port and terminal on it, counted from 1; empty for registers and without a point. */
  readonly terminal: string;
  readonly port: string;
  /** Null: no point. */
  readonly point: number | null;
  readonly how: "pinned" | "kept" | "assigned" | "proposed" | "none";
  readonly kind: PointKind;
  readonly signal: string;
  readonly direction: "input" | "output";
  /** What it comes from or goes to, in the cell's words. */
  readonly connects: string;
  readonly contact: string;
  /** Sensor or load. */
  readonly device: string;
  readonly polarity: string;
  readonly coupling: string;
  readonly current: Amperes | null;
  readonly voltage: Volts | null;
  readonly unit: number | null;
  readonly table: string;
  readonly address: number | null;
  readonly reference: string;
  readonly note: string;
}

/**
 * Terminal of a point: strips count ports in the order of the cell, X1 the first; terminals count its digital inputs, digital
 * outputs, analogue inputs and analogue outputs in that order, from 1. So a terminal depends on the ports alone.
 */
export function terminalOf(ports: readonly IoPort[], name: string, kind: PointKind, point: number): string {
  const index = ports.findIndex((port) => port.name === name);
  if (index < 0 || kind === "input registers" || kind === "holding registers") return "";
  let before = 0;
  for (const other of POINT_KINDS) {
    if (other === kind) break;
    before += pointsOf(ports[index]!, other);
  }
  return `X${index + 1}:${before + point + 1}`;
}

export function scheduleRows(
  cell: Cell,
  { proposed }: Assignment,
  wires: readonly Wire[],
  stations: readonly StationMap[],
): ScheduleRow[] {
  const ports = [...cell.controller.ports.values(), ...proposed.stations];
  const mapped = new Map(
    stations.flatMap(({ unit, entries }) => entries.map((entry) => [entry.signal, { unit, entry }] as const)),
  );
  const rows = wires.map(({ signal, kind, end, place }): ScheduleRow => {
    const at = place ?? proposed.points.get(signal.name);
    const remote = mapped.get(signal.name);
    return {
      terminal: at === undefined ? "" : terminalOf(ports, at.port, kind, at.point),
      port: at?.port ?? signal.port ?? "",
      point: at?.point ?? null,
      how: place?.how ?? (at === undefined ? "none" : "proposed"),
      kind,
      signal: signal.name,
      direction: signal.direction,
      connects: end.what,
      contact: signal.contact ?? "",
      device: signal.sensor ?? signal.load ?? "",
      polarity: signal.polarity ?? "",
      coupling: signal.coupling ?? "",
      current: signal.current ?? null,
      voltage: signal.voltage ?? null,
      unit: remote?.unit ?? null,
      table: remote?.entry.table ?? "",
      address: remote?.entry.address ?? null,
      reference: remote?.entry.reference ?? "",
      note: signal.note ?? "",
    };
  });
  const rank = ({ port, kind, point }: ScheduleRow): readonly [number, number, number] => {
    const index = ports.findIndex(({ name }) => name === port);
    return [point === null ? ports.length : index, POINT_KINDS.indexOf(kind), point ?? 0];
  };
  return rows
    .map((row, order) => ({ row, keys: [...rank(row), order] }))
    .sort((a, b) => a.keys.reduce((sign, key, i) => sign || key - b.keys[i]!, 0))
    .map(({ row }) => row);
}

/** "DI 3", "no point" */
export const pointText = ({ kind, point }: ScheduleRow): string =>
  point === null ? "no point" : `${SHORT_KINDS[kind]} ${point}`;
