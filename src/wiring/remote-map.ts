/** Map of a remote station: table, address and function codes of every signal on it, and the transfers that carry them. */
import type { IoPort } from "../cell/model.ts";
import { FUNCTION_CODES, MOST_IN_ONE, type ModbusTable, readRequest, referenceOf } from "./modbus.ts";
import { type PointKind, pointsOf } from "./points.ts";

export interface RemoteEntry {
  readonly signal: string;
  readonly kind: PointKind;
  readonly point: number;
  readonly table: ModbusTable;
  /** In the protocol, counted from 0; null where the station does not state where its points begin. */
  readonly address: number | null;
  /** Of the data model, counted from 1. */
  readonly number: number | null;
  /** The customary six-digit form of the number, first digit by table. */
  readonly reference: string | null;
  readonly readCode: number;
  readonly writeCodes: readonly number[];
  /** Of a bit, in the data of one reading of the whole block: byte from 0, bit from 0, least significant first. */
  readonly bit: { readonly byte: number; readonly bit: number } | null;
}

/** A request that carries a block of points. */
export interface Transfer {
  readonly code: number;
  readonly address: number;
  readonly quantity: number;
  /** Bytes of the request of a reading, without header; undefined for writing, whose bytes depend on the values. */
  readonly request?: readonly number[];
}

export interface StationMap {
  readonly station: string;
  readonly unit: number;
  readonly host: string | null;
  /** True for a station that the cell does not have. */
  readonly proposed: boolean;
  readonly entries: readonly RemoteEntry[];
  readonly transfers: readonly Transfer[];
  /** Kinds with signals, of which the station does not state the first address. */
  readonly unknown: readonly PointKind[];
  /** Tables whose points go beyond address 65535. */
  readonly beyond: readonly ModbusTable[];
}

const TABLES: Readonly<Record<PointKind, ModbusTable>> = {
  "digital inputs": "discrete input",
  "digital outputs": "coil",
  "analogue inputs": "input register",
  "analogue outputs": "holding register",
  "input registers": "input register",
  "holding registers": "holding register",
};

/** A table of a station: where its points begin and how many there are; registers follow the analogue points. */
export function blockOf(
  port: IoPort,
  table: ModbusTable,
): { readonly first: number | undefined; readonly count: number } {
  const { remote } = port;
  switch (table) {
    case "coil":
      return { first: remote?.firstCoil, count: port.digitalOutputs };
    case "discrete input":
      return { first: remote?.firstDiscreteInput, count: port.digitalInputs };
    case "input register":
      return { first: remote?.firstInputRegister, count: port.analogueInputs + (remote?.inputRegisters ?? 0) };
    case "holding register":
      return { first: remote?.firstHoldingRegister, count: port.analogueOutputs + (remote?.holdingRegisters ?? 0) };
  }
}

/**
 * The map of one station.
 * @param port a port with `remote`
 * @param signals what is on it, in the order to be listed
 */
export function stationMap(
  port: IoPort,
  signals: readonly { readonly signal: string; readonly kind: PointKind; readonly point: number }[],
  proposed: boolean,
): StationMap {
  const unknown = new Set<PointKind>();
  const beyond = new Set<ModbusTable>();
  const used = new Set<ModbusTable>();
  const entries = signals.map(({ signal, kind, point }): RemoteEntry => {
    const table = TABLES[kind];
    const { first, count } = blockOf(port, table);
    const codes = FUNCTION_CODES[table];
    const behind =
      kind === "input registers" ? port.analogueInputs : kind === "holding registers" ? port.analogueOutputs : 0;
    used.add(table);
    const known = first !== undefined && first + count <= 65_536;
    if (first === undefined) unknown.add(kind);
    else if (!known) beyond.add(table);
    const address = known ? first + behind + point : null;
    const isBit = table === "coil" || table === "discrete input";
    return {
      signal,
      kind,
      point,
      table,
      address,
      number: address === null ? null : address + 1,
      reference: address === null ? null : referenceOf(table, address),
      readCode: codes.read,
      writeCodes: [codes.writeOne, codes.writeMany].filter((code) => code !== undefined),
      bit: isBit && pointsOf(port, kind) <= MOST_IN_ONE[codes.read]! ? { byte: point >> 3, bit: point & 7 } : null,
    };
  });
  return {
    station: port.name,
    unit: port.remote?.unit ?? 0,
    host: port.remote?.host ?? null,
    proposed,
    entries,
    transfers: [...used].flatMap((table) => transfersOf(port, table)),
    unknown: [...unknown],
    beyond: [...beyond],
  };
}

/** The block of a table in as many requests as the specification wants: inputs read, outputs written. */
function transfersOf(port: IoPort, table: ModbusTable): Transfer[] {
  const { first, count } = blockOf(port, table);
  if (first === undefined || first + count > 65_536) return [];
  const { read, writeMany } = FUNCTION_CODES[table];
  const code = writeMany ?? read;
  const most = MOST_IN_ONE[code]!;
  const out: Transfer[] = [];
  for (let done = 0; done < count; done += most) {
    const quantity = Math.min(most, count - done);
    const address = first + done;
    out.push({
      code,
      address,
      quantity,
      ...(writeMany === undefined ? { request: readRequest(read, address, quantity) } : {}),
    });
  }
  return out;
}
