/** Each problem planted alone, with its number beside it; sums and Ohm's law in closed form. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { wiredCell } from "../../test/wiring/cells.ts";
import { COPPER, loopResistance, sumCurrents, surveyWiring, voltageAtLoad } from "./index.ts";

/** A controller of which everything is stated; `more` goes on in its map, `rest` below the ports. */
const stated = (more = "", rest = "") => `  scan: 8 ms
  ports:
    controller: { digital inputs: 8, digital outputs: 8, input type: 3, inputs: sinking, input filter: 3 ms, outputs: sourcing, output current: 500 mA, group size: 4, group current: 1 A, supply: cabinet${more} }
    flange: { digital outputs: 2, outputs: sourcing, output current: 500 mA, group size: 2, group current: 1 A, supply: cabinet }
  supplies: { cabinet: { voltage: 24 V, current: 5 A } }
${rest}`;

const FACTS = ["point-facts-not-stated", "signal-facts-not-stated"];
const problemsOf = (controller: string, signals = "") =>
  surveyWiring(wiredCell(controller, signals)).problems.filter(({ code }) => !FACTS.includes(code));

describe("planted", () => {
  it("nothing: no problem", () => expect(problemsOf(stated())).toEqual([]));

  it.each([
    [
      "output-overloaded",
      "error",
      stated(),
      "  x: { direction: output, current: 600 mA }\n",
      /600 mA from controller DO 4, which gives 500 mA/,
    ],
    [
      "group-overloaded",
      "error",
      stated(),
      "  x: { direction: output, current: 400 mA }\n  y: { direction: output, current: 400 mA }\n  z: { direction: output, current: 300 mA }\n",
      /4 to 7 of controller \(x, y, z\) draw 1.1 A at a time, 1 A/,
    ],
    [
      "supply-overloaded",
      "error",
      stated().replace("current: 5 A", "current: 100 mA"),
      "  x: { direction: output, current: 90 mA }\n",
      /cabinet .* draw at least \(grip, .* not stated\) 110 mA at a time, 100 mA/,
    ],
    ["supply-voltage", "error", stated().replace("24 V", "20 V"), "", /20 V; .* 20.4 V to 28.8 V/],
    [
      "voltage-mismatch",
      "error",
      stated(),
      "  x: { direction: output, voltage: 12 V }\n",
      /made for 12 V; controller DO 4 switches 24 V/,
    ],
    ["voltage-mismatch", "error", stated(), "  x: { direction: output, voltage: 48 V }\n", /made for 48 V/],
    [
      "cable-too-long",
      "warning",
      stated(),
      "  x: { direction: output, voltage: 24 V, current: 500 mA, cable: { length: 120 m, area: 0.5 mm^2 } }\n",
      /19.86 V are left .* 120 m of 0.5 mm²; .* 20.4 V/,
    ],
    [
      "input-level",
      "error",
      stated(),
      "  x: { direction: input, voltage: 8 V }\n",
      /8 V when on; for controller DI 4, an input of type 3 .* undefined: on is 11 V to 30 V/,
    ],
    [
      "input-level",
      "error",
      stated().replace("input type: 3", "input type: 1"),
      "  x: { direction: input, voltage: 12 V }\n",
      /12 V when on; .* type 1 .* undefined: on is 15 V/,
    ],
    [
      "leakage-too-high",
      "error",
      stated(),
      "  x: { direction: input, leakage: 1.5 mA }\n",
      /1.5 mA through when off; .* only below 1.5 mA/,
    ],
    [
      "holding-current-too-low",
      "error",
      stated(),
      "  x: { direction: input, holding current: 3 mA }\n",
      /3 mA to stay on; .* only 2 mA/,
    ],
    [
      "polarity-mismatch",
      "error",
      stated(),
      "  x: { direction: input, polarity: NPN }\n",
      /x is NPN .* sinking input, which wants PNP/,
    ],
    [
      "polarity-mismatch",
      "error",
      stated().replace(
        "outputs: sourcing, output current: 500 mA, group size: 4",
        "outputs: sinking, output current: 500 mA, group size: 4",
      ),
      "  x: { direction: output, polarity: PNP }\n",
      /plus \(PNP\); controller DO 4 is a sinking output/,
    ],
    [
      "coil-unsuppressed",
      "warning",
      stated(),
      "  x: { direction: output, load: valve, suppression: none }\n",
      /coil of a valve without suppression/,
    ],
    [
      "address-not-stated",
      "caution",
      stated("", "  remote: { far: { unit: 1, digital inputs: 4 } }\n"),
      "  x: input far\n",
      /far does not state from which address its digital inputs count/,
    ],
    [
      "address-beyond-range",
      "error",
      stated("", "  remote: { far: { unit: 1, digital inputs: 4, discrete inputs from: 65533 } }\n"),
      "  x: input far\n",
      /beyond 65535/,
    ],
    [
      "addresses-overlap",
      "error",
      stated(
        "",
        "  remote:\n    a: { unit: 1, digital inputs: 8, discrete inputs from: 0 }\n    b: { unit: 1, digital inputs: 8, discrete inputs from: 7 }\n",
      ),
      "",
      /a and b share unit 1, with no host stated, and discrete input addresses/,
    ],
    [
      "register-without-station",
      "caution",
      stated(),
      "  x: { direction: input, kind: register }\n",
      /no remote station has a register left for x/,
    ],
    [
      "too-few-points",
      "error",
      stated(),
      `${Array.from({ length: 5 }, (_, i) => `  x${i}: input\n`).join("")}`,
      /controller has 8 digital inputs, the signals need 9/,
    ],
  ] as const)("%s (%s)", (code, severity, controller, signals, message) => {
    const problems = problemsOf(controller, signals);
    expect(problems.map((p) => [p.code, p.severity])).toEqual([[code, severity]]);
    expect(problems[0]!.message).toMatch(message);
    expect(problems[0]!.mend).not.toBe("");
  });

  it("a coupling relay takes levels, polarity and leakage out of question", () => {
    const wrong = "polarity: NPN, voltage: 8 V, leakage: 3 mA";
    expect(problemsOf(stated(), `  x: { direction: input, ${wrong}, coupling: relay }\n`)).toEqual([]);
    expect(problemsOf(stated(), `  x: { direction: input, ${wrong} }\n`)).toHaveLength(3);
  });

  it("stations that share addresses but not the unit or the host do not get in each other's way", () => {
    const two = (more: string) =>
      stated(
        "",
        `  remote:\n    a: { unit: 1, digital inputs: 8, discrete inputs from: 0 }\n    b: { ${more}, digital inputs: 8, discrete inputs from: 7 }\n`,
      );
    expect(problemsOf(two("unit: 2"))).toEqual([]);
    expect(problemsOf(two("unit: 1, host: 192.0.2.7"))).toEqual([]);
    expect(problemsOf(two("unit: 1").replace("from: 7", "from: 8"))).toEqual([]);
  });

  it("direct couplings of a machine give one caution", () => {
    const cell = wiredCell(stated());
    const signals = new Map(cell.signals);
    for (const name of ["door-open", "door-is-open"]) signals.set(name, { ...signals.get(name)!, coupling: "direct" });
    const { problems } = surveyWiring({ ...cell, signals });
    expect(problems.filter(({ code }) => code === "interposing-relay").map(({ message }) => message)).toEqual([
      expect.stringContaining("door-open, door-is-open tie the 0 V and 24 V"),
    ]);
  });

  it("what is not stated is named, with what it makes unknowable, and nothing is taken for granted", () => {
    const { problems, groups, supplies } = surveyWiring(wiredCell(undefined));
    expect(problems.map(({ code, severity }) => `${code} ${severity}`)).toEqual(FACTS.map((code) => `${code} caution`));
    expect(problems[0]!.message).toMatch(
      /controller: input type, inputs .*, outputs .*, output current, group current, supply/,
    );
    expect(problems[1]!.message).toMatch(
      /current of grip, door-open, chuck-toggle, cycle-start \(sums of currents are too low by it\)/,
    );
    expect([groups, supplies]).toEqual([[], []]);
  });
});

it("a group current without the size of a group is not passed over", () => {
  const { problems } = surveyWiring(wiredCell(stated().replace("group size: 4, ", "")));
  expect(problems.find(({ code }) => code === "point-facts-not-stated")?.message).toMatch(
    /not stated of controller: group size:/,
  );
});

it("the supply of inputs alone is asked for as well: without it their level is not known", () => {
  const { problems } = surveyWiring(
    wiredCell(
      stated(
        "",
        "  remote: { far: { unit: 1, digital inputs: 2, input type: 3, inputs: sinking, discrete inputs from: 0 } }\n",
      ),
      "  x: input far\n",
    ),
  );
  expect(problems.find(({ code }) => code === "point-facts-not-stated")?.message).toMatch(/not stated of far: supply:/);
});

describe("currents", () => {
  const PAIR = `  a: { direction: output, current: 600 mA }\n`;
  it("outputs of one device count once for what is on at a time, and twice for everything on", () => {
    const cell = wiredCell(
      stated().replace("output current: 500 mA, group size: 4", "output current: 1 A, group size: 8"),
      PAIR,
    );
    const lathe = cell.machines.get("lathe")!;
    const door = lathe.devices.find(({ name }) => name === "lathe.door")!;
    const paired = {
      ...door,
      command: {
        style: "pair" as const,
        signals: new Map([
          ["open", "door-open"],
          ["closed", "chuck-toggle"],
        ]),
      },
    };
    const signals = new Map(cell.signals);
    signals.set("door-open", { ...signals.get("door-open")!, current: 0.3 });
    signals.set("chuck-toggle", { ...signals.get("chuck-toggle")!, current: 0.4 });
    const survey = surveyWiring({
      ...cell,
      signals,
      machines: new Map([
        [
          "lathe",
          {
            ...lathe,
            devices: lathe.devices.map((d) => (d === door ? paired : { ...d, command: { style: "none" as const } })),
          },
        ],
      ]),
    });
    const group = survey.groups.find(({ port }) => port === "controller")!;
    // 0.6 + 0.3 + 0.4 + 0.02 (arm-clear), and 0.6 + max(0.3, 0.4) + 0.02.
    expect(group.all).toBeCloseTo(1.32, 12);
    expect(group.atOnce).toBeCloseTo(1.02, 12);
    expect(group.unknown).toEqual(["cycle-start"]);
    // Both are above 1 A.
    expect(survey.problems.find(({ code }) => code === "group-overloaded")?.severity).toBe("error");
  });

  it("above the limit only with everything on is a warning", () => {
    const cell = wiredCell(
      stated().replace(
        "group current: 1 A, supply: cabinet }\n    flange",
        "group current: 500 mA, supply: cabinet }\n    flange",
      ),
    );
    const lathe = cell.machines.get("lathe")!;
    const devices = lathe.devices.map((d) =>
      d.name === "lathe.door"
        ? {
            ...d,
            command: {
              style: "pair" as const,
              signals: new Map([
                ["open", "door-open"],
                ["closed", "cycle-start"],
              ]),
            },
          }
        : d,
    );
    const signals = new Map(cell.signals);
    for (const name of ["door-open", "cycle-start"]) signals.set(name, { ...signals.get(name)!, current: 0.3 });
    const { problems } = surveyWiring({ ...cell, signals, machines: new Map([["lathe", { ...lathe, devices }]]) });
    expect(
      problems.filter(({ code }) => code === "group-overloaded").map(({ severity, message }) => [severity, message]),
    ).toEqual([
      [
        "warning",
        expect.stringContaining(
          "620 mA if all are on, 500 mA are allowed; as the cell is meant to run at most 320 mA are",
        ),
      ],
    ]);
  });

  it("are sums: the whole is the sum of any two halves, and the order does not matter", () => {
    const [wire] = surveyWiring(wiredCell(stated())).wires;
    const wires = (currents: readonly number[]) =>
      currents.map((mA, i) => ({
        ...wire!,
        end: { owner: "unused" as const, what: "" },
        signal: { ...wire!.signal, name: `s${i}`, current: mA / 1024 },
      }));
    fc.assert(
      fc.property(fc.array(fc.nat(1000), { maxLength: 20 }), fc.nat(20), (currents, cut) => {
        const all = wires(currents);
        const { all: sum, atOnce } = sumCurrents(all, undefined);
        expect(sum).toBe(currents.reduce((a, b) => a + b, 0) / 1024);
        expect(atOnce).toBe(sum);
        expect(sumCurrents(all.slice(0, cut), undefined).all + sumCurrents(all.slice(cut), undefined).all).toBe(sum);
        expect(sumCurrents([...all].reverse(), undefined).all).toBe(sum);
      }),
      { seed: 8, numRuns: 200 },
    );
  });
});

describe("voltage behind a cable", () => {
  it("1 m of 1 mm² copper, there and back, has 2/58 Ω (IEC 60028: 1/58 Ω mm²/m at 20 °C)", () => {
    expect(loopResistance(1, 1e-6)).toBeCloseTo(2 / 58, 15);
    expect(COPPER * 58e6).toBe(1);
  });

  it("is the supply's less current times resistance", () => {
    const { wires, cables } = surveyWiring(
      wiredCell(
        stated(),
        "  x: { direction: output, voltage: 24 V, current: 200 mA, cable: { length: 29 m, area: 0.5 mm^2 } }\n",
      ),
    );
    // R = 2 · 29 / (58 · 0.5) = 2 Ω, so 0.4 V are lost.
    expect(voltageAtLoad(wires.find(({ signal }) => signal.name === "x")!)).toBeCloseTo(23.6, 12);
    expect(voltageAtLoad(wires.find(({ signal }) => signal.name === "grip")!)).toBeUndefined();
    expect(cables.map(({ signal, resistance }) => [signal, resistance.toFixed(9)])).toEqual([["x", "2.000000000"]]);
    expect(cables[0]!.left).toBeCloseTo(23.6, 12);
  });
});

describe("pulses", () => {
  const pulse = (controller: string, name: string, change: object, width?: number) => {
    const cell = wiredCell(controller);
    const signals = new Map(cell.signals);
    signals.set(name, { ...signals.get(name)!, ...change });
    const routines = new Map(cell.routines);
    if (width !== undefined)
      routines.set("more", { name: "more", steps: [{ kind: "pulse", signal: name, width, path: [], id: "more[0]" }] });
    const { pulses, problems } = surveyWiring({ ...cell, signals, routines });
    const found = pulses.find(({ signal }) => signal === name)!;
    return { ...found, codes: problems.map(({ code }) => code).filter((code) => code.startsWith("pulse")) };
  };

  it("as long as the receiver needs is seen, the least shorter is not", () => {
    expect(pulse(stated(), "cycle-start", { receiverScan: 0.1 }, 0.1)).toMatchObject({ verdict: "seen", codes: [] });
    expect(pulse(stated(), "cycle-start", { receiverScan: 0.1 }, 0.0999)).toMatchObject({
      verdict: "too short",
      codes: ["pulse-unseen"],
    });
  });

  it("is the shortest that the routines give", () => {
    const cell = wiredCell(stated());
    const steps = [0.3, 0.05, 0.2].map((width, i) => ({
      kind: "pulse" as const,
      signal: "cycle-start",
      width,
      path: [],
      id: `m[${i}]`,
    }));
    const each = { kind: "each" as const, over: [], times: 2, steps: steps.slice(0, 2), path: [], id: "m" };
    const routines = new Map([["main", { name: "main", steps: [each, steps[2]!] }]]);
    const { pulses } = surveyWiring({ ...cell, routines });
    expect(pulses.find(({ signal }) => signal === "cycle-start")?.width).toBe(0.05);
  });

  it("a receiver of which nothing is stated leaves it unknown", () => {
    expect(pulse(stated(), "cycle-start", {})).toMatchObject({
      verdict: "unknown",
      needed: null,
      missing: ["its receiver scan"],
      codes: [],
    });
  });

  it("of a person needs filter and scan: 3 ms + 8 ms", () => {
    const held = (hold: number) => ({ operator: { delay: { min: 0, max: 1 }, hold } });
    expect(pulse(stated(), "start-button", held(0.011))).toMatchObject({ needed: 0.011, verdict: "seen" });
    expect(pulse(stated(), "start-button", held(0.0105))).toMatchObject({
      verdict: "too short",
      codes: ["pulse-unseen"],
    });
    // Without the filter, what is known can only decide against it.
    const bare = stated().replace(", input filter: 3 ms", "");
    expect(pulse(bare, "start-button", held(0.009))).toMatchObject({ verdict: "unknown", needed: 0.008 });
    expect(pulse(bare, "start-button", held(0.007))).toMatchObject({ verdict: "too short" });
  });

  it("on a remote station may lose one update", () => {
    const far = (update: string) =>
      stated("", `  remote: { far: { unit: 1, digital outputs: 8, coils from: 0${update} } }\n`);
    const at = { port: "far", point: 0, receiverScan: 0.1 };
    expect(pulse(far(", update: 20 ms"), "cycle-start", at, 0.12)).toMatchObject({ verdict: "seen" });
    const short = pulse(far(", update: 20 ms"), "cycle-start", at, 0.11);
    expect(short).toMatchObject({ verdict: "too short", codes: ["pulse-unseen"] });
    expect(short.sure).toBeCloseTo(0.09, 12);
    expect(pulse(far(""), "cycle-start", at, 0.12)).toMatchObject({ verdict: "unknown", sure: null });
  });

  it("seen for certain by a sampling receiver exactly when the model says so (every phase tried)", () => {
    // Independent of the formula: a filter that passes after F, sampled at phase + k T; ticks of 1 ms.
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 60 }),
        fc.integer({ min: 1, max: 20 }),
        fc.nat(10),
        (width, scan, filter) => {
          // The filtered signal is on from `filter` to `width`, both included: the pulse ends after the sample taken at its end.
          const always = Array.from({ length: scan }, (_, phase) => phase).every((phase) => {
            for (let t = phase; t <= width; t += scan) if (t >= filter && t <= width) return true;
            return false;
          });
          const ms = (n: number) => n / 1000;
          const { verdict } = pulse(
            stated().replace("scan: 8 ms", `scan: ${scan} ms`).replace("filter: 3 ms", `filter: ${filter} ms`),
            "start-button",
            { operator: { delay: { min: 0, max: 1 }, hold: ms(width) } },
          );
          // Samples in whole milliseconds: a window of w - F + 1 ticks holds a sample whatever the phase from T - 1 on.
          if (verdict === "seen") expect(always).toBe(true);
          if (!always) expect(verdict).toBe("too short");
        },
      ),
      { seed: 9, numRuns: 60 },
    );
  });
});
