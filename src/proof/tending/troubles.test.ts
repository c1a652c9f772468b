/** Each kind of trouble reached by a routine that makes one mistake, and not reached by the same routine without it. */
import { describe, expect, it } from "vitest";
import { drive, dwell, free, go, hold, level, off, pulse, range, wait } from "../../../test/cycle/builders.ts";
import { type Steps, shop } from "../../../test/cycle/shop.ts";
import { lying, motionsOf, sweeping } from "../../../test/proof/small.ts";
import type { Cell } from "../../cell/model.ts";
import { proveCell } from "./prove.ts";
import type { TroubleKind } from "./trouble.ts";

const limit = { limit: 2 };
const PICK: Steps = [go("raw"), hold("grip", "raw"), dwell(0.4)];
const AWAY: Steps = [go("home")];
/** A raw part put into the vise. */
const LOAD: Steps = [
  ...PICK,
  go("mill.vise"),
  drive("clamp", true),
  wait("vise-closed", limit),
  free("grip", "mill.vise"),
  dwell(0.4),
  ...AWAY,
];
const START: Steps = [pulse("start", 0.2), wait(off("done"), { limit: 1 }), wait("done", { limit: 10 })];

interface Case {
  readonly kind: TroubleKind;
  readonly wrong: Steps;
  readonly right: Steps;
  readonly also?: (cell: Cell) => Cell;
  readonly more?: Parameters<typeof shop>[1];
}

const two: Case["more"] = {
  grippers: [
    { device: { name: "grip", start: "open", command: level("grip", "closed", "open"), time: range(0.2, 0.4) } },
    { device: { name: "other", start: "open", command: level("wash", "closed", "open"), time: range(0.2, 0.4) } },
  ],
};
const still: Case["more"] = {
  grippers: [{ device: { name: "grip", start: "open", command: { style: "none" }, time: range(0.2, 0.4) } }],
};
const lies = (cell: Cell) => lying(cell, ["mill.vise", "mill.chuck"]);
const shared = (cell: Cell) => sweeping(cell, "mill.door", "bay");

const CASES: readonly Case[] = [
  {
    kind: "part-dropped",
    wrong: [...PICK, drive("grip", false), dwell(0.4)],
    right: [...PICK, go("finished"), free("grip", "finished"), dwell(0.4)],
  },
  {
    kind: "freed-before-clamped",
    wrong: [
      ...PICK,
      go("mill.vise"),
      drive("clamp", true),
      dwell(0.99),
      free("grip", "mill.vise"),
      dwell(0.4),
      ...AWAY,
    ],
    right: [...PICK, go("mill.vise"), drive("clamp", true), dwell(1), free("grip", "mill.vise"), dwell(0.4), ...AWAY],
    also: lies,
  },
  {
    kind: "freed-unclamped",
    wrong: [...PICK, go("mill.vise"), free("grip", "mill.vise"), dwell(0.4)],
    right: LOAD,
    also: lies,
  },
  {
    kind: "unclamped-before-held",
    wrong: [go("mill.chuck"), hold("grip", "mill.chuck"), dwell(0.39), pulse("toggle", 0.2), dwell(0.5), ...AWAY],
    right: [go("mill.chuck"), hold("grip", "mill.chuck"), dwell(0.4), pulse("toggle", 0.2), dwell(0.5), ...AWAY],
    also: lies,
  },
  {
    kind: "released-unheld",
    wrong: [go("mill.chuck"), pulse("toggle", 0.2), dwell(0.5)],
    right: [go("mill.chuck"), hold("grip", "mill.chuck"), dwell(0.4), pulse("toggle", 0.2), dwell(0.5)],
    also: lies,
  },
  {
    kind: "moved-while-both-hold",
    wrong: [...PICK, go("mill.vise"), drive("clamp", true), wait("vise-closed", limit), ...AWAY],
    right: LOAD,
  },
  {
    kind: "moved-before-jaws",
    wrong: [go("raw"), hold("grip", "raw"), dwell(0.39), ...AWAY],
    right: [...PICK, ...AWAY],
  },
  {
    kind: "moved-before-clamp",
    wrong: [go("mill.vise"), drive("clamp", true), dwell(0.99), ...AWAY],
    right: [go("mill.vise"), drive("clamp", true), wait("vise-closed", limit), ...AWAY],
  },
  {
    kind: "held-by-two-grippers",
    wrong: [go("mill.chuck"), hold("grip", "mill.chuck"), dwell(0.4), hold("other", "mill.chuck"), dwell(0.4)],
    right: [go("mill.chuck"), hold("grip", "mill.chuck"), dwell(0.4), pulse("toggle", 0.2), dwell(0.5), ...AWAY],
    more: two,
  },
  { kind: "hold-nothing", wrong: [go("finished"), hold("grip", "finished"), dwell(0.4)], right: PICK },
  {
    kind: "free-nothing",
    wrong: [drive("grip", true), dwell(0.4), go("finished"), free("grip", "finished"), dwell(0.4)],
    right: [...PICK, go("finished"), free("grip", "finished"), dwell(0.4)],
  },
  {
    kind: "place-occupied",
    wrong: [...PICK, go("others"), free("grip", "others"), dwell(0.4)],
    right: [...PICK, go("finished"), free("grip", "finished"), dwell(0.4)],
  },
  {
    kind: "zone-shared",
    wrong: [drive("door-open", true), dwell(0.9), go("mill.vise")],
    right: [drive("door-open", true), wait("door-is-open", limit), go("mill.vise")],
    also: shared,
  },
  {
    // The other way round: the door is sent while the arm is in it.
    kind: "zone-shared",
    wrong: [go("mill.vise"), drive("door-open", true), dwell(2)],
    right: [go("mill.vise"), ...AWAY, drive("door-open", true), dwell(2)],
    also: shared,
  },
  {
    kind: "arm-inside-at-start",
    wrong: [...LOAD, go("mill.vise"), pulse("start", 0.2)],
    right: [...LOAD, ...START],
    also: shared,
  },
  {
    kind: "need-lost",
    wrong: [...LOAD, pulse("start", 0.2), dwell(1), drive("door-open", true), dwell(1)],
    right: [...LOAD, ...START, drive("door-open", true), dwell(1)],
  },
  {
    kind: "process-unclamped",
    wrong: [...PICK, go("mill.vise"), free("grip", "mill.vise"), dwell(0.4), ...AWAY, pulse("start", 0.2)],
    right: [...LOAD, ...START],
  },
  {
    kind: "process-while-held",
    wrong: [...PICK, go("mill.vise"), drive("clamp", true), wait("vise-closed", limit), pulse("start", 0.2)],
    right: [...LOAD, ...START],
  },
  {
    kind: "taken-in-process",
    wrong: [...LOAD, pulse("start", 0.2), go("mill.vise"), hold("grip", "mill.vise"), dwell(0.4)],
    right: [...LOAD, ...START, go("mill.vise"), hold("grip", "mill.vise"), dwell(0.4)],
  },
  { kind: "process-without-part", wrong: START, right: [...LOAD, ...START] },
  {
    kind: "start-refused",
    wrong: [drive("wash", true), dwell(0.1), drive("wash", false)],
    right: [
      drive("door-open", true),
      wait("door-is-open", limit),
      drive("wash", true),
      dwell(0.1),
      drive("wash", false),
    ],
  },
  {
    kind: "start-while-running",
    wrong: [...LOAD, pulse("start", 0.2), dwell(1), pulse("start", 0.2)],
    right: [...LOAD, ...START, pulse("start", 0.2)],
  },
  { kind: "pulse-too-short", wrong: [pulse("toggle", 0.19)], right: [pulse("toggle", 0.2)] },
  {
    kind: "pulses-too-close",
    wrong: [pulse("toggle", 0.2), dwell(0.009), pulse("toggle", 0.2)],
    right: [pulse("toggle", 0.2), dwell(0.01), pulse("toggle", 0.2)],
  },
  {
    kind: "pulse-on-high-signal",
    wrong: [drive("lamp-on", true), dwell(1), pulse("lamp-on", 0.3)],
    right: [pulse("lamp-on", 0.3)],
  },
  {
    kind: "hold-already-closed",
    wrong: [drive("grip", true), dwell(0.4), go("raw"), hold("grip", "raw")],
    right: PICK,
  },
  {
    kind: "free-already-open",
    wrong: [go("finished"), free("grip", "finished")],
    right: [...PICK, go("finished"), free("grip", "finished")],
  },
  {
    kind: "stale-input",
    wrong: [drive("clamp", true), wait("vise-closed", limit), drive("clamp", false), wait("vise-closed", limit)],
    right: [drive("clamp", true), wait("vise-closed", limit), drive("clamp", false), wait("vise-open", limit)],
  },
  {
    kind: "limit-passed",
    wrong: [drive("clamp", true), wait("vise-closed", { limit: 1 })],
    right: [drive("clamp", true), wait("vise-closed", { limit: 1.02 })],
  },
  { kind: "gripper-not-commanded", wrong: PICK, right: AWAY, more: still },
];

const kindsIn = (main: Steps, { also = (cell) => cell, more = {} }: Case): string[] => {
  const cell = also(shop(main, more));
  const proof = proveCell(cell, { variants: new Map([["part", motionsOf(cell)]]), faults: [] });
  const [nominal] = proof.nominal;
  expect(nominal!.verdict).not.toBe("undecided");
  return nominal!.violations.map(({ trouble }) => trouble.kind);
};

describe("troubles", () => {
  it.each(CASES)("$kind", (one) => {
    expect(kindsIn(one.wrong, one)).toContain(one.kind);
    expect(kindsIn(one.right, one)).not.toContain(one.kind);
  });
});
