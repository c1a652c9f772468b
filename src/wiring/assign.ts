/**
 * Points for signals. Pinned signals stay where they are pinned; then those of an earlier assignment stay where they were; then
 * the others are taken in the order of the file and each gets the lowest free point of the first port that suits it.
 */
import type { Cell, IoPort, Signal } from "../cell/model.ts";
import { signalEnds } from "./ends.ts";
import { POINT_KINDS, type PointKind, pointKindOf, pointsOf } from "./points.ts";

export interface PointPlace {
  readonly port: string;
  /** Counted from 0 among the points of its kind. */
  readonly point: number;
}

export interface PlacedPoint extends PointPlace {
  /** "pinned" by the cell file, "kept" from an earlier assignment, or "assigned" here. */
  readonly how: "pinned" | "kept" | "assigned";
}

export interface Assignment {
  /** In the order of the file. */
  readonly points: ReadonlyMap<string, PlacedPoint>;
  /** Signals that found no point, on any port that the cell has, in the order of the file. */
  readonly unplaced: readonly string[];
  /** Stations that would take the unplaced signals that name no port, and where these would go. */
  readonly proposed: {
    readonly stations: readonly IoPort[];
    readonly points: ReadonlyMap<string, PointPlace>;
  };
}

export interface AssignOptions {
  /** Where signals were; kept as far as the points exist, are free and no pin says otherwise. */
  readonly keep?: ReadonlyMap<string, PointPlace>;
}

/** Points of a proposed station: an assumption, stated in the documentation. */
export const PROPOSED_POINTS = {
  digitalInputs: 16,
  digitalOutputs: 16,
  analogueInputs: 4,
  analogueOutputs: 4,
  registers: 16,
} as const;

/** The port at the arm's flange. */
const FLANGE = "flange";

/**
 * A point for every signal, as far as there are points; no point is given twice. The same cell always gets the same points, and
 * a signal added at the end of the file without a pin moves no other.
 */
export function assignPoints(cell: Cell, { keep }: AssignOptions = {}): Assignment {
  const ports = [...cell.controller.ports.values()];
  const ends = signalEnds(cell);
  const points = new Map<string, PlacedPoint>();
  for (const kind of POINT_KINDS) {
    const signals = [...cell.signals.values()].filter((signal) => pointKindOf(signal) === kind);
    if (signals.length === 0) continue;
    const board = new Board(ports, kind);
    for (const { name, port, point } of signals)
      if (port !== undefined && point !== undefined && board.take(port, point))
        points.set(name, { port, point, how: "pinned" });
    for (const signal of signals) {
      const before = keep?.get(signal.name);
      if (before === undefined || points.has(signal.name) || signal.point !== undefined) continue;
      if (signal.port !== undefined && signal.port !== before.port) continue;
      if (board.take(before.port, before.point)) points.set(signal.name, { ...before, how: "kept" });
    }
    const waiting = signals.filter(({ name, point }) => !points.has(name) && point === undefined);
    for (const { port } of waiting) if (port !== undefined) board.reserve(port);
    for (const signal of waiting) {
      const place = signal.port === undefined ? board.free(choices(signal, ports)) : board.reserved(signal.port);
      if (place !== undefined) points.set(signal.name, { ...place, how: "assigned" });
    }
  }
  const unplaced = [...cell.signals.values()].filter(({ name }) => !points.has(name));
  return {
    points: new Map([...cell.signals.keys()].flatMap((name) => (points.has(name) ? [[name, points.get(name)!]] : []))),
    unplaced: unplaced.map(({ name }) => name),
    proposed: propose(
      unplaced.filter(({ port }) => port === undefined),
      ports,
    ),
  };

  function choices({ name }: Signal, all: readonly IoPort[]): readonly IoPort[] {
    const local = all.filter((port) => port.remote === undefined);
    const remote = all.filter((port) => port.remote !== undefined);
    const atArm = local.filter((port) => port.name === FLANGE);
    const atCabinet = local.filter((port) => port.name !== FLANGE);
    if (ends.get(name)?.owner === "gripper") return [...atArm, ...atCabinet, ...remote];
    // Wires of machines and people do not go up the arm, unless there is nothing else.
    return [...(atCabinet.length === 0 ? atArm : atCabinet), ...remote];
  }
}

/** The points of one kind, port by port: free, taken, or spoken for. */
class Board {
  private readonly taken = new Map<string, boolean[]>();
  private readonly left = new Map<string, number>();
  private readonly spokenFor = new Map<string, number>();

  constructor(ports: readonly IoPort[], kind: PointKind) {
    for (const port of ports) {
      const count = pointsOf(port, kind);
      this.taken.set(port.name, new Array<boolean>(count).fill(false));
      this.left.set(port.name, count);
    }
  }

  /** Takes a point; false when it does not exist or is taken. */
  take(port: string, point: number): boolean {
    const own = this.taken.get(port);
    if (own?.[point] !== false) return false;
    own[point] = true;
    this.left.set(port, this.left.get(port)! - 1);
    return true;
  }

  /** Speaks for a point of a port, for a signal that may go nowhere else. */
  reserve(port: string): void {
    this.spokenFor.set(port, (this.spokenFor.get(port) ?? 0) + 1);
  }

  /** The lowest free point of a port, for a signal that has spoken for one. */
  reserved(port: string): PointPlace | undefined {
    this.spokenFor.set(port, this.spokenFor.get(port)! - 1);
    return this.lowest(port);
  }

  /** The lowest free point of the first port that has one more than is spoken for. */
  free(ports: readonly IoPort[]): PointPlace | undefined {
    for (const { name } of ports) if (this.left.get(name)! > (this.spokenFor.get(name) ?? 0)) return this.lowest(name);
    return undefined;
  }

  private lowest(port: string): PointPlace | undefined {
    const point = this.taken.get(port)?.indexOf(false) ?? -1;
    if (point < 0) return undefined;
    this.take(port, point);
    return { port, point };
  }
}

/** As many stations of `PROPOSED_POINTS` as the signals need. */
function propose(signals: readonly Signal[], ports: readonly IoPort[]): Assignment["proposed"] {
  const { registers, ...points } = PROPOSED_POINTS;
  const size = { ...points, remote: { unit: 0, inputRegisters: registers, holdingRegisters: registers } };
  const placed = new Map<string, PointPlace>();
  const names: string[] = [];
  const units = new Set(ports.flatMap((port) => (port.remote === undefined ? [] : [port.remote.unit])));
  const station = (index: number): string => {
    while (names.length <= index) {
      let number = names.length + 1;
      while (ports.some(({ name }) => name === `station-${number}`) || names.includes(`station-${number}`)) number++;
      names.push(`station-${number}`);
    }
    return names[index]!;
  };
  for (const kind of POINT_KINDS) {
    const each = pointsOf({ name: "", ...size }, kind);
    signals
      .filter((signal) => pointKindOf(signal) === kind)
      .forEach(({ name }, i) => {
        placed.set(name, { port: station(Math.floor(i / each)), point: i % each });
      });
  }
  let unit = 0;
  const stations = names.map((name): IoPort => {
    do unit++;
    while (units.has(unit));
    return {
      name,
      ...points,
      remote: {
        unit,
        inputRegisters: registers,
        holdingRegisters: registers,
        firstCoil: 0,
        firstDiscreteInput: 0,
        firstInputRegister: 0,
        firstHoldingRegister: 0,
      },
    };
  });
  return { stations, points: placed };
}
