/**
 * What goes over the wire to a remote station: requests, and bits packed into bytes.
 * @source Modbus Application Protocol Specification V1.1b3 (modbus.org): clauses 4.3 and 4.4 (data model, addresses from 0,
 *   numbers from 1), 6.1 to 6.4, 6.11, 6.12 (quantities and layout of function codes 01 to 04, 15, 16)
 */
import { ContractError } from "../math/contract-error.ts";

export type ModbusTable = "coil" | "discrete input" | "input register" | "holding register";

/** Function codes of a table: reading, writing one, writing several; none where it can only be read. */
export const FUNCTION_CODES: Readonly<
  Record<ModbusTable, { readonly read: number; readonly writeOne?: number; readonly writeMany?: number }>
> = {
  coil: { read: 1, writeOne: 5, writeMany: 15 },
  "discrete input": { read: 2 },
  "holding register": { read: 3, writeOne: 6, writeMany: 16 },
  "input register": { read: 4 },
};

/** Most bits or registers in one request, by function code. */
export const MOST_IN_ONE: Readonly<Record<number, number>> = { 1: 2000, 2: 2000, 3: 125, 4: 125, 15: 1968, 16: 123 };

/** First digit of the customary six-digit reference, which counts from 1 and is no address. */
const REFERENCE: Readonly<Record<ModbusTable, number>> = {
  coil: 0,
  "discrete input": 1,
  "input register": 3,
  "holding register": 4,
};

/** "100197" of the discrete input with address 196. @param address 0 to 65535 */
export function referenceOf(table: ModbusTable, address: number): string {
  return `${REFERENCE[table]}${String(address + 1).padStart(5, "0")}`;
}

/** Bits in bytes, the first in the least significant bit of the first byte, the last byte filled with zeros. */
export function packBits(bits: readonly boolean[]): number[] {
  const bytes = new Array<number>(Math.ceil(bits.length / 8)).fill(0);
  bits.forEach((bit, i) => {
    if (bit) bytes[i >> 3]! |= 1 << (i & 7);
  });
  return bytes;
}

/** The first `count` bits of bytes. @throws ContractError if the bytes hold fewer */
export function unpackBits(bytes: readonly number[], count: number): boolean[] {
  if (!(count >= 0 && count <= 8 * bytes.length))
    throw new ContractError(`unpackBits: count must be 0 to ${8 * bytes.length}, got ${count}`);
  return Array.from({ length: count }, (_, i) => ((bytes[i >> 3]! >> (i & 7)) & 1) === 1);
}

/**
 * Bytes of a reading request, function code first: code, address and quantity with the high byte first.
 * @throws ContractError for another code than 1 to 4, or numbers that the specification does not allow
 */
export function readRequest(code: number, address: number, quantity: number): number[] {
  const most = code >= 1 && code <= 4 ? MOST_IN_ONE[code]! : 0;
  if (!(quantity >= 1 && quantity <= most))
    throw new ContractError(`readRequest: code ${code} reads 1 to ${most}, got ${quantity}`);
  if (!(address >= 0 && address + quantity <= 65_536))
    throw new ContractError(`readRequest: addresses go from 0 to 65535, got ${address} and ${quantity} from there`);
  return [code, address >> 8, address & 255, quantity >> 8, quantity & 255];
}
