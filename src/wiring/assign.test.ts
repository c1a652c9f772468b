/** Assignment of points: a bijection within capacity, pins kept, as many as possible, stable, the same every time. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { wiredCell, withSignals } from "../../test/wiring/cells.ts";
import type { Cell, IoPort, Signal } from "../cell/model.ts";
import { type Assignment, assignPoints, PROPOSED_POINTS, pointKindOf } from "./index.ts";
import { pointsOf } from "./points.ts";

const base = wiredCell(undefined);
const GRIPPER_SIGNAL = [...base.signals.keys()].find((name) => name.startsWith("grip"))!;

const port = fc.record({
  digitalInputs: fc.nat(6),
  digitalOutputs: fc.nat(6),
  analogueInputs: fc.nat(2),
  analogueOutputs: fc.nat(2),
});
/** "cabinet" and "flange" are the controller's own, "far" is remote. */
const controller = fc
  .tuple(port, port, port, fc.nat(3))
  .map(([cabinet, flange, far, registers]): Cell["controller"] => ({
    scan: 0.01,
    ports: new Map<string, IoPort>([
      ["cabinet", { name: "cabinet", ...cabinet }],
      ["flange", { name: "flange", ...flange }],
      ["far", { name: "far", ...far, remote: { unit: 1, inputRegisters: registers, holdingRegisters: registers } }],
    ]),
  }));

interface Draw {
  readonly direction: "input" | "output";
  readonly kind: "digital" | "analogue" | "register";
  readonly port: string | undefined;
  readonly pin: number | undefined;
}
const draw: fc.Arbitrary<Draw> = fc.record({
  direction: fc.constantFrom("input", "output"),
  kind: fc.constantFrom("digital", "digital", "digital", "analogue", "register"),
  port: fc.option(fc.constantFrom("cabinet", "flange", "far"), { nil: undefined, freq: 2 }),
  pin: fc.option(fc.nat(5), { nil: undefined, freq: 1 }),
});

/** Signals whose pins exist and are used once, as the loader makes sure; one of them is the gripper's. */
function signalsOf(draws: readonly Draw[], ports: Cell["controller"]["ports"]): Signal[] {
  const taken = new Set<string>();
  return draws.map(({ direction, kind, port: name, pin }, i) => {
    const signal: Signal = { name: i === 2 ? GRIPPER_SIGNAL : `s${i}`, direction, kind, initial: false };
    if (name === undefined) return signal;
    const point = pointKindOf(signal);
    const key = `${point} ${name} ${pin}`;
    const possible = pin !== undefined && pin < pointsOf(ports.get(name)!, point) && !taken.has(key);
    if (possible) taken.add(key);
    return { ...signal, port: name, ...(possible ? { point: pin } : {}) };
  });
}

const scenario = fc
  .tuple(controller, fc.array(draw, { maxLength: 24 }))
  .map(([made, draws]) => withSignals({ ...base, controller: made }, signalsOf(draws, made.ports)));

const entries = ({ points }: Assignment) => [...points].map(([name, { port: at, point }]) => `${name} ${at} ${point}`);
const SEED = { seed: 505, numRuns: 400 };

describe("assignment", () => {
  it("gives no point twice, none that does not exist, and loses no signal", () => {
    fc.assert(
      fc.property(scenario, (cell) => {
        const { points, unplaced } = assignPoints(cell);
        const seen = new Set<string>();
        for (const [name, place] of points) {
          const signal = cell.signals.get(name)!;
          const kind = pointKindOf(signal);
          expect(place.point).toBeGreaterThanOrEqual(0);
          expect(place.point).toBeLessThan(pointsOf(cell.controller.ports.get(place.port)!, kind));
          if (signal.port !== undefined) expect(place.port).toBe(signal.port);
          seen.add(`${kind} ${place.port} ${place.point}`);
        }
        expect(seen.size).toBe(points.size);
        expect([...points.keys(), ...unplaced].sort()).toEqual([...cell.signals.keys()].sort());
      }),
      SEED,
    );
  });

  it("keeps every pin", () => {
    fc.assert(
      fc.property(scenario, (cell) => {
        const { points } = assignPoints(cell);
        for (const { name, port: at, point } of cell.signals.values())
          if (point !== undefined) expect(points.get(name)).toEqual({ port: at, point, how: "pinned" });
      }),
      SEED,
    );
  });

  it("places as many signals as can be placed at all (maximum matching by augmenting paths)", () => {
    fc.assert(
      fc.property(scenario, (cell) => {
        expect(assignPoints(cell).points.size).toBe(largestMatching(cell));
      }),
      SEED,
    );
  });

  it("moves nothing when a signal without a pin comes to the end of the file", () => {
    fc.assert(
      fc.property(scenario, draw, (cell, more) => {
        const added: Signal = { name: "added", direction: more.direction, kind: more.kind, initial: false };
        const larger = withSignals(cell, [...cell.signals.values(), added]);
        const after = entries(assignPoints(larger)).filter((entry) => !entry.startsWith("added "));
        expect(after).toEqual(entries(assignPoints(cell)));
      }),
      SEED,
    );
  });

  it("moves nothing when an earlier schedule is kept and signals come and go anywhere", () => {
    fc.assert(
      fc.property(scenario, fc.array(fc.nat(30), { maxLength: 4 }), fc.nat(24), draw, (cell, gone, where, more) => {
        const before = assignPoints(cell);
        const left = [...cell.signals.values()].filter((_, i) => !gone.includes(i));
        left.splice(Math.min(where, left.length), 0, {
          name: "added",
          direction: more.direction,
          kind: more.kind,
          initial: false,
        });
        const after = assignPoints(withSignals(cell, left), { keep: before.points });
        for (const { name } of left) {
          const was = before.points.get(name);
          if (was !== undefined) expect(after.points.get(name)).toMatchObject({ port: was.port, point: was.point });
        }
      }),
      SEED,
    );
  });

  it("is the same every time, and kept as it is by its own schedule", () => {
    fc.assert(
      fc.property(scenario, (cell) => {
        const once = assignPoints(cell);
        expect(assignPoints(cell)).toEqual(once);
        expect(entries(assignPoints(cell, { keep: once.points }))).toEqual(entries(once));
      }),
      SEED,
    );
  });

  it("proposes as few stations as take what is left over, each point once", () => {
    fc.assert(
      fc.property(scenario, fc.nat(60), (cell, extra) => {
        const many = Array.from(
          { length: extra },
          (_, i): Signal => ({ name: `x${i}`, direction: "input", kind: "digital", initial: false }),
        );
        const larger = withSignals(cell, [...cell.signals.values(), ...many]);
        const { unplaced, proposed } = assignPoints(larger);
        const free = unplaced.filter((name) => larger.signals.get(name)!.port === undefined);
        expect([...proposed.points.keys()].sort()).toEqual([...free].sort());
        const seen = new Set<string>();
        const sizes = new Map<string, number>();
        for (const [name, place] of proposed.points) {
          const kind = pointKindOf(larger.signals.get(name)!);
          const station = proposed.stations.find((one) => one.name === place.port)!;
          expect(place.point).toBeLessThan(pointsOf(station, kind));
          seen.add(`${kind} ${place.port} ${place.point}`);
          sizes.set(kind, (sizes.get(kind) ?? 0) + 1);
        }
        expect(seen.size).toBe(free.length);
        const each = {
          "digital inputs": PROPOSED_POINTS.digitalInputs,
          "digital outputs": PROPOSED_POINTS.digitalOutputs,
        };
        const least = Math.max(
          0,
          ...[...sizes].map(([kind, count]) =>
            Math.ceil(count / ((each as Record<string, number>)[kind] ?? (/registers/.test(kind) ? 16 : 4))),
          ),
        );
        expect(proposed.stations.length).toBe(least);
      }),
      { seed: 506, numRuns: 150 },
    );
  });
});

describe("where signals go", () => {
  const of = (text: string, signals = "") => {
    const { points } = assignPoints(wiredCell(text, signals));
    return (name: string) => {
      const at = points.get(name);
      return at && `${at.port} ${at.point}`;
    };
  };
  const PORTS = `  ports:
    controller: { digital inputs: 6, digital outputs: 6 }
    flange: { digital inputs: 2, digital outputs: 2 }`;

  it("a gripper's to the flange, a machine's never up the arm", () => {
    // In the small lathe "grip" is wired to flange 0 and everything else to the controller's first points.
    const at = of(PORTS, "  a: input\n  b: input\n  c: input\n");
    expect([at(GRIPPER_SIGNAL), at("a"), at("b"), at("c")]).toEqual([
      "flange 0",
      "controller 4",
      "controller 5",
      undefined,
    ]);
  });

  it("on to remote stations when the controller is full", () => {
    const at = of(
      `${PORTS}\n  remote: { far: { unit: 7, digital inputs: 1 } }`,
      "  a: input\n  b: input\n  c: input\n  d: input\n",
    );
    expect([at("b"), at("c"), at("d")]).toEqual(["controller 5", "far 0", undefined]);
  });

  it("proposes stations with names and units that are free", () => {
    const text = `${PORTS}\n  remote: { station-1: { unit: 1 }, far: { unit: 2 } }`;
    const many = Array.from({ length: 20 }, (_, i) => `  x${i}: input\n`).join("");
    const { stations } = assignPoints(wiredCell(text, many)).proposed;
    expect(stations.map(({ name, remote }) => `${name} ${remote!.unit}`)).toEqual(["station-2 3", "station-3 4"]);
  });

  it("where the file says now, whatever an earlier schedule said", () => {
    const cell = wiredCell(PORTS, "  a: input flange\n  b: input controller 5\n");
    const keep = new Map([
      ["a", { port: "controller", point: 4 }],
      ["b", { port: "controller", point: 4 }],
    ]);
    const { points } = assignPoints(cell, { keep });
    expect(points.get("a")).toEqual({ port: "flange", point: 0, how: "assigned" });
    expect(points.get("b")).toEqual({ port: "controller", point: 5, how: "pinned" });
  });

  it("leaves room for signals that may go to one port only", () => {
    const at = of(
      `${PORTS}\n  remote: { far: { unit: 7, digital inputs: 8 } }`,
      "  a: input\n  b: input\n  c: input controller\n",
    );
    expect([at("a"), at("b"), at("c")]).toEqual(["controller 4", "far 0", "controller 5"]);
  });
});

/** Size of a largest matching of signals to points, by augmenting paths (Kuhn 1955), over every point a signal may take. */
function largestMatching(cell: Cell): number {
  const ports = [...cell.controller.ports.values()];
  const choices = [...cell.signals.values()].map((signal) => {
    const kind = pointKindOf(signal);
    if (signal.point !== undefined) return [`${kind} ${signal.port} ${signal.point}`];
    const open = ports.filter(({ name }) =>
      signal.port === undefined ? name !== "flange" || signal.name === GRIPPER_SIGNAL : name === signal.port,
    );
    return open.flatMap((at) => Array.from({ length: pointsOf(at, kind) }, (_, i) => `${kind} ${at.name} ${i}`));
  });
  const owner = new Map<string, number>();
  const augment = (signal: number, tried: Set<string>): boolean => {
    for (const point of choices[signal]!) {
      if (tried.has(point)) continue;
      tried.add(point);
      const now = owner.get(point);
      if (now === undefined || augment(now, tried)) {
        owner.set(point, signal);
        return true;
      }
    }
    return false;
  };
  return choices.filter((_, i) => augment(i, new Set())).length;
}
