/** Requests and packing against the examples of the Modbus Application Protocol Specification V1.1b3 (modbus.org). */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { IoPort } from "../cell/model.ts";
import { ContractError } from "../math/contract-error.ts";
import { packBits, readRequest, referenceOf, unpackBits } from "./modbus.ts";
import { stationMap } from "./remote-map.ts";

const hex = (bytes: readonly number[]) => bytes.map((b) => b.toString(16).toUpperCase().padStart(2, "0")).join(" ");
const bytes = (text: string) => text.split(" ").map((b) => Number.parseInt(b, 16));

describe("requests of the specification", () => {
  // Clauses 6.1 to 6.4: the data numbers of the examples count from 1, the addresses on the wire from 0.
  it.each([
    ["6.1 read coils 20 to 38", 1, 20, 19, "01 00 13 00 13"],
    ["6.2 read discrete inputs 197 to 218", 2, 197, 22, "02 00 C4 00 16"],
    ["6.3 read holding registers 108 to 110", 3, 108, 3, "03 00 6B 00 03"],
    ["6.4 read input register 9", 4, 9, 1, "04 00 08 00 01"],
  ])("%s", (_, code, number, quantity, request) => {
    expect(hex(readRequest(code, number - 1, quantity))).toBe(request);
  });

  it.each([
    [1, 0, 2001],
    [2, 0, 0],
    [3, 0, 126],
    [4, 65_535, 2],
    [5, 0, 1],
    [1, -1, 1],
  ])("refuses code %i from %i, %i of them", (code, address, quantity) => {
    expect(() => readRequest(code, address, quantity)).toThrow(ContractError);
  });

  it.each([
    [1, 2000],
    [2, 2000],
    [3, 125],
    [4, 125],
  ])("code %i reads up to %i", (code, most) => {
    expect(readRequest(code, 0, most)).toHaveLength(5);
  });
});

describe("bits in bytes", () => {
  it("clause 6.1: coils 20 to 38 are CD 6B 05", () => {
    const coils = unpackBits(bytes("CD 6B 05"), 19);
    // The text of the example: coils 27 to 20 are "1100 1101", 35 to 28 "0110 1011", 38 to 36 "101".
    const from = (high: number, low: number) =>
      coils
        .slice(low - 20, high - 19)
        .reverse()
        .map(Number)
        .join("");
    expect([from(27, 20), from(35, 28), from(38, 36)]).toEqual(["11001101", "01101011", "101"]);
    expect(hex(packBits(coils))).toBe("CD 6B 05");
  });

  it("clause 6.2: inputs 197 to 218 are AC DB 35, the last two bits filled with zeros", () => {
    expect(hex(packBits(unpackBits(bytes("AC DB 35"), 22)))).toBe("AC DB 35");
    expect(unpackBits(bytes("AC DB 35"), 24).slice(22)).toEqual([false, false]);
  });

  it("clause 6.11: writing coils 20 to 29 with CD 01", () => {
    const written = [1, 0, 1, 1, 0, 0, 1, 1, 1, 0].map(Boolean);
    expect(hex(packBits(written))).toBe("CD 01");
  });

  it("1,1,0,1,0,0,1,1,0,1,0,1 is CB 0A (frame recorded with an independent implementation)", () => {
    expect(hex(packBits([1, 1, 0, 1, 0, 0, 1, 1, 0, 1, 0, 1].map(Boolean)))).toBe("CB 0A");
  });

  it("unpacks what it packed", () => {
    fc.assert(
      fc.property(fc.array(fc.boolean(), { maxLength: 300 }), (bits) => {
        expect(unpackBits(packBits(bits), bits.length)).toEqual(bits);
      }),
      { seed: 51, numRuns: 200 },
    );
    expect(() => unpackBits([0], 9)).toThrow(ContractError);
  });
});

describe("map of a station", () => {
  const port: IoPort = {
    name: "far",
    digitalInputs: 22,
    digitalOutputs: 19,
    analogueInputs: 1,
    analogueOutputs: 3,
    remote: {
      unit: 1,
      firstCoil: 19,
      firstDiscreteInput: 196,
      firstInputRegister: 8,
      firstHoldingRegister: 107,
      inputRegisters: 2,
      holdingRegisters: 0,
    },
  };

  it("has the numbers and addresses of the specification's examples", () => {
    const map = stationMap(
      port,
      [
        { signal: "coil 20", kind: "digital outputs", point: 0 },
        { signal: "coil 38", kind: "digital outputs", point: 18 },
        { signal: "input 197", kind: "digital inputs", point: 0 },
        { signal: "input 218", kind: "digital inputs", point: 21 },
        { signal: "input register 9", kind: "analogue inputs", point: 0 },
        { signal: "behind it", kind: "input registers", point: 1 },
        { signal: "holding register 110", kind: "analogue outputs", point: 2 },
      ],
      false,
    );
    expect(
      map.entries.map(({ signal, address, number, reference, readCode, writeCodes }) => [
        signal,
        address,
        number,
        reference,
        readCode,
        writeCodes.join(),
      ]),
    ).toEqual([
      ["coil 20", 19, 20, "000020", 1, "5,15"],
      ["coil 38", 37, 38, "000038", 1, "5,15"],
      ["input 197", 196, 197, "100197", 2, ""],
      ["input 218", 217, 218, "100218", 2, ""],
      ["input register 9", 8, 9, "300009", 4, ""],
      ["behind it", 10, 11, "300011", 4, ""],
      ["holding register 110", 109, 110, "400110", 3, "6,16"],
    ]);
    // Coil 38 is bit 2 of the third byte of CD 6B 05, input 218 bit 5 of the third of AC DB 35: both 1 in the specification.
    expect(map.entries[1]!.bit).toEqual({ byte: 2, bit: 2 });
    expect(unpackBits(bytes("CD 6B 05"), 24)[2 * 8 + 2]).toBe(true);
    expect(map.entries[3]!.bit).toEqual({ byte: 2, bit: 5 });
    expect(
      map.transfers.map(({ request, code, address, quantity }) =>
        request ? hex(request) : `${code} ${address} ${quantity}`,
      ),
    ).toEqual(["15 19 19", "02 00 C4 00 16", "04 00 08 00 03", "16 107 3"]);
  });

  it("has no address where none is stated, or where it would be beyond the last", () => {
    const { firstDiscreteInput: _, ...remote } = port.remote!;
    const map = stationMap(
      { ...port, remote: { ...remote, firstCoil: 65_530 } },
      [
        { signal: "a", kind: "digital inputs", point: 0 },
        { signal: "b", kind: "digital outputs", point: 0 },
      ],
      false,
    );
    expect(map.entries.map(({ address, number, reference }) => [address, number, reference])).toEqual([
      [null, null, null],
      [null, null, null],
    ]);
    expect([map.unknown, map.beyond, map.transfers]).toEqual([["digital inputs"], ["coil"], []]);
  });

  it("reads a long block in requests of at most 2000 bits and 125 registers, without gap or overlap", () => {
    const map = stationMap(
      { ...port, digitalInputs: 4096, analogueInputs: 300, remote: { ...port.remote!, inputRegisters: 0 } },
      [
        { signal: "a", kind: "digital inputs", point: 4095 },
        { signal: "b", kind: "analogue inputs", point: 299 },
      ],
      false,
    );
    expect(map.transfers.map(({ address, quantity }) => [address, quantity])).toEqual([
      [196, 2000],
      [2196, 2000],
      [4196, 96],
      [8, 125],
      [133, 125],
      [258, 50],
    ]);
    // Its byte and bit would be those of another request.
    expect(map.entries[0]!.bit).toBeNull();
  });

  it("writes references in six digits", () => {
    expect([referenceOf("coil", 0), referenceOf("holding register", 65_535)]).toEqual(["000001", "465536"]);
  });
});
