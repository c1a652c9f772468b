/** Random cells without races: every movement is awaited by feedback, or a dwell as long as its slowest time follows. */
import fc from "fast-check";
import type { Cell } from "../../src/cell/model.ts";
import {
  type CellSpec,
  cell,
  type DeviceSpec,
  drive,
  dwell,
  each,
  free,
  go,
  hold,
  level,
  part,
  process,
  pulse,
  range,
  run,
  toggling,
  wait,
  when,
} from "./builders.ts";

const seconds = (max: number) => fc.integer({ min: 0, max: max * 20 }).map((n) => n / 20);
const span = (max: number) => fc.tuple(seconds(max), seconds(max)).map(([a, b]) => range(a, a + b));

const machine = fc.record({
  door: fc.boolean(),
  doorTime: span(2),
  /** Chuck fed back and held by a level, or toggling without feedback. */
  toggles: fc.boolean(),
  chuckTime: span(1),
  cutting: span(20),
  byMachine: fc.boolean(),
  travel: fc.tuple(seconds(3), seconds(3), seconds(3), seconds(3)),
});

export type MachineDraw = typeof machine extends fc.Arbitrary<infer T> ? T : never;

export const cellDraw = fc.record({
  machines: fc.array(machine, { minLength: 1, maxLength: 3 }),
  scan: fc.constantFrom(0, 0.004, 0.012),
  jaws: span(0.5),
  jawsFedBack: fc.boolean(),
  passes: fc.integer({ min: 10, max: 14 }),
  button: fc.boolean(),
});

export type CellDraw = typeof cellDraw extends fc.Arbitrary<infer T> ? T : never;

const later = { kind: "not", of: { kind: "pass", which: "first" } } as const;

/** @param cuttingMore added to every machining time, s */
export function randomCell(draw: CellDraw, cuttingMore = 0): Cell {
  const jawDwell = draw.jawsFedBack ? [] : [dwell(draw.jaws.max)];
  const machines = draw.machines.map((m, i) => buildMachine(m, i, cuttingMore));
  const routines: CellSpec["routines"] = {};
  draw.machines.forEach((m, i) => {
    const chuck = `m${i}.chuck`;
    const [a, b, c, d] = m.travel;
    const work = (position: "closed" | "open") =>
      m.toggles
        ? [pulse(`m${i}-toggle`, 0.2), dwell(m.chuckTime.max)]
        : [drive(`m${i}-clamp`, position === "closed"), wait(`m${i}-chuck-${position}`)];
    const door = (position: "closed" | "open") =>
      m.door && !(m.byMachine && position === "open")
        ? [drive(`m${i}-door`, position === "open"), wait(`m${i}-door-${position}`)]
        : m.door
          ? [wait(`m${i}-door-open`)]
          : [];
    routines[`unload${i}`] = [
      wait(`m${i}-done`),
      ...door("open"),
      go(chuck, { seconds: a }),
      hold("grip", chuck),
      ...jawDwell,
      ...work("open"),
      go(`finished${i}`, { seconds: b }),
      free("grip", `finished${i}`),
      ...jawDwell,
    ];
    routines[`load${i}`] = [
      go(`raw${i}`, { seconds: c }),
      hold("grip", `raw${i}`),
      ...jawDwell,
      // The output follows a door that the machine itself has opened.
      ...(m.door ? [drive(`m${i}-door`, true), wait(`m${i}-door-open`)] : []),
      go(chuck, { seconds: d }),
      ...work("closed"),
      free("grip", chuck),
      ...jawDwell,
      go(`out${i}`, { seconds: a }),
      ...(m.door ? [drive(`m${i}-door`, false), wait(`m${i}-door-closed`)] : []),
      pulse(`m${i}-start`, 0.1),
    ];
  });
  const serve = draw.machines.flatMap((_, i) => [when(later, [run(`unload${i}`)]), run(`load${i}`)]);
  const names = draw.machines.map((_, i) => i);
  return cell({
    scan: draw.scan,
    parts: [part("part")],
    grippers: [
      {
        device: {
          name: "grip",
          start: "open",
          command: level("grip-out", "closed", "open"),
          time: draw.jaws,
          ...(draw.jawsFedBack ? { feedback: { open: "grip-open", closed: "grip-closed" } } : {}),
        },
      },
    ],
    machines,
    holders: names.flatMap((i) => [
      { name: `raw${i}`, places: draw.passes, start: "part" },
      { name: `finished${i}`, places: draw.passes },
      { name: `m${i}.chuck`, device: `m${i}.chuck` },
    ]),
    inputs: [
      "grip-open",
      "grip-closed",
      {
        name: "button",
        direction: "input",
        kind: "digital",
        initial: false,
        operator: { delay: range(1, 4), hold: 0.5 },
      },
      ...names.flatMap((i) =>
        ["door-open", "door-closed", "chuck-open", "chuck-closed", "done"].map((s) => `m${i}-${s}`),
      ),
    ],
    outputs: ["grip-out", ...names.flatMap((i) => ["door", "toggle", "clamp", "start"].map((s) => `m${i}-${s}`))],
    routines: {
      main: [
        ...(draw.button ? [wait("button")] : []),
        each(
          names.flatMap((i) => [`raw${i}`, `finished${i}`]),
          serve,
        ),
      ],
      ...routines,
    },
  });
}

function buildMachine(m: MachineDraw, i: number, cuttingMore: number): NonNullable<CellSpec["machines"]>[number] {
  const door: DeviceSpec = {
    name: `m${i}.door`,
    start: "closed",
    command: level(`m${i}-door`, "open", "closed"),
    time: m.doorTime,
    feedback: { open: `m${i}-door-open`, closed: `m${i}-door-closed` },
  };
  const chuck: DeviceSpec = {
    name: `m${i}.chuck`,
    start: "open",
    clamps: "closed",
    time: m.chuckTime,
    ...(m.toggles
      ? { command: toggling(`m${i}-toggle`, 0.2) }
      : {
          command: level(`m${i}-clamp`, "closed", "open"),
          feedback: { open: `m${i}-chuck-open`, closed: `m${i}-chuck-closed` },
        }),
  };
  return {
    name: `m${i}`,
    devices: m.door ? [door, chuck] : [chuck],
    processes: [
      process({
        name: `m${i}.cut`,
        machine: `m${i}`,
        start: { signal: `m${i}-start`, style: "pulse", width: 0.1 },
        time: range(m.cutting.min + cuttingMore, m.cutting.max + cuttingMore),
        done: { signal: `m${i}-done`, style: "until start", width: 0 },
        needs: [{ device: `m${i}.chuck`, position: "closed" }],
        after: m.door && m.byMachine ? [{ device: `m${i}.door`, position: "open" }] : [],
        holder: `m${i}.chuck`,
        makes: "done",
      }),
    ],
  };
}
