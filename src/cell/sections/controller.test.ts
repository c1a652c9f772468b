/** `controller` and the electrical facts of signals: what is written is what the model has, and nothing is made up. */
import { describe, expect, it } from "vitest";
import { wiredCell } from "../../../test/wiring/cells.ts";

describe("controller", () => {
  const cell = wiredCell(
    `  scan: 8 ms
  ports:
    controller: { digital inputs: 8, digital outputs: 8, input type: 1, inputs: sourcing, input filter: 3 ms, outputs: relay, output current: 0.5 A, group size: 4, group current: 1500 mA, supply: main }
    flange: { digital outputs: 1 }
  remote:
    far: { unit: 0, host: 192.0.2.1, update: 20 ms, digital inputs: 4, analogue outputs: 2, discrete inputs from: 0, holding registers from: 40, holding registers: 3, inputs: sinking }
  supplies: { main: { voltage: 24 V, current: 5 A }, spare: {} }`,
    `  x: { direction: output, load: valve, suppression: RC, voltage: 24 V, coupling: direct, receiver scan: 40 ms, cable: { length: 12 m, area: 0.5 mm^2 } }
  y: { direction: input, sensor: two-wire switch, polarity: NPN, leakage: 0.8 mA, holding current: 3 mA, wired: far 3 }\n`,
  );

  it("has ports, stations and supplies as written", () => {
    const { ports, supplies } = cell.controller;
    expect(ports.get("controller")?.ratings).toEqual({
      inputType: 1,
      inputs: "sourcing",
      inputFilter: 0.003,
      outputs: "relay",
      outputCurrent: 0.5,
      groupSize: 4,
      groupCurrent: 1.5,
      supply: "main",
    });
    expect(ports.get("flange")?.ratings).toBeUndefined();
    expect(ports.get("far")).toEqual({
      name: "far",
      digitalInputs: 4,
      digitalOutputs: 0,
      analogueInputs: 0,
      analogueOutputs: 2,
      ratings: { inputs: "sinking" },
      remote: {
        unit: 0,
        host: "192.0.2.1",
        update: 0.02,
        firstDiscreteInput: 0,
        firstHoldingRegister: 40,
        inputRegisters: 0,
        holdingRegisters: 3,
      },
    });
    expect(Object.fromEntries(supplies!)).toEqual({
      main: { name: "main", voltage: 24, current: 5 },
      spare: { name: "spare" },
    });
  });

  it("has the facts of signals as written", () => {
    expect(cell.signals.get("x")).toMatchObject({
      load: "valve",
      suppression: "RC",
      voltage: 24,
      coupling: "direct",
      receiverScan: 0.04,
      cable: { length: 12, area: 0.5e-6 },
    });
    expect(cell.signals.get("y")).toMatchObject({
      sensor: "two-wire switch",
      polarity: "NPN",
      leakage: 0.0008,
      holdingCurrent: 0.003,
      port: "far",
      point: 3,
    });
  });

  it("keeps the default ports beside stations", () => {
    const { ports } = wiredCell("  remote: { far: { unit: 1 } }").controller;
    expect([...ports.keys()]).toEqual(["controller", "flange", "far"]);
    expect(ports.get("controller")?.digitalInputs).toBe(16);
  });

  it.each([
    ["  remote: { far: { unit: 256 } }", "unit"],
    ["  remote: { far: { digital inputs: 4 } }", "far"],
    ["  remote: { far: { unit: 1, coils from: 65536 } }", "coils"],
    ["  supplies: { main: { voltage: 24 mA } }", "voltage"],
    ["  supplies: { main: { voltage: -24 V } }", "voltage"],
    [
      "  ports: { controller: { digital inputs: 16, digital outputs: 16, input type: 4 }, flange: { digital outputs: 1 } }",
      "input type",
    ],
    [
      "  ports: { controller: { digital inputs: 16, digital outputs: 16, outputs: PNP }, flange: { digital outputs: 1 } }",
      "outputs",
    ],
  ])("refuses %s", (text, word) => {
    expect(() => wiredCell(text)).toThrow(word);
  });
});
