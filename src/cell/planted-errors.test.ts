/** One error at a time planted in a good cell: exactly that one is reported, at its line and column, with its mend. */
import { describe, expect, it } from "vitest";
import { smallLathe, textSource } from "../../test/cells/texts.ts";
import { loadCell } from "./index.ts";

type Case = readonly [what: string, find: string, put: string, code: string, at: string, mend?: RegExp];

const units: readonly Case[] = [
  ["a bare number", "d: 400 mm", "d: 400", "missing-unit", "400,", /400 mm/],
  ["a bare angle in degrees", "alpha: 0 deg,   d: 0 mm", "alpha: 0, d: 0 mm", "missing-unit", "0, d: 0 mm", /0 deg/],
  ["a share without %", "speed: 80 %", "speed: 80", "missing-unit", "80, blend", /80 %/],
  ["a time where a length belongs", "stroke: 20 mm", "stroke: 20 s", "wrong-unit", "20 s", /mm, cm/],
  ["an angle where a length belongs", "a: 450 mm", "a: 450 deg", "wrong-unit", "450 deg"],
  ["speed for acceleration", "acceleration: 600 deg/s^2", "acceleration: 600 deg/s", "wrong-unit", "600 deg/s"],
  [
    "an unknown unit",
    "dwell: 0.5 s\n    - go: { to: raw-tray, offset",
    "dwell: 0.5 sec\n    - go: { to: raw-tray, offset",
    "unknown-unit",
    "0.5 sec",
    /0.5 s\?/,
  ],
  [
    "a decimal comma",
    "    - dwell: 0.5 s\n    - go: { to: lathe.chuck, offset: [0, 0, 100 mm], by: line, speed: 250",
    "    - dwell: 0,5 s\n    - go: { to: lathe.chuck, offset: [0, 0, 100 mm], by: line, speed: 250",
    "decimal-comma",
    "0,5 s",
    /0\.5 s/,
  ],
  ["not a number", "force: 140 N", "force: .nan", "not-finite", ".nan"],
  ["infinity", "force: 140 N", "force: .inf N", "not-finite", ".inf"],
  ["an overflow", "force: 140 N", "force: 1e999 N", "not-finite", "1e999"],
  ["words", "force: 140 N", "force: strong", "not-a-quantity", "strong"],
  ["a unit on a plain number", "friction: 0.15\n", "friction: 0.15 N\n", "not-a-number", "0.15 N", /unit/],
  ["a negative mass", "mass: 1.1 kg", "mass: -1.1 kg", "out-of-range", "-1.1 kg"],
  ["a negative travel", "travel: 5 mm", "travel: -5 mm", "out-of-range", "-5 mm"],
  ["a share above all", "joint speed: 100 %", "joint speed: 120 %", "out-of-range", "120 %"],
  ["a friction of nothing", "friction: 0.15\n", "friction: 0\n", "out-of-range", "0\n", /Correct/],
  ["a negative friction", "friction: 0.15\n", "friction: -0.1\n", "out-of-range", "-0.1"],
  ["a friction beyond any", "friction: 0.15\n", "friction: 15\n", "out-of-range", "15\n"],
  [
    "a friction of wet parts of nothing",
    "way: friction }\n    process times: { lathe.turning: 38",
    "oily friction: 0 }\n    process times: { lathe.turning: 38",
    "out-of-range",
    "0 }\n",
  ],
  [
    "more stroke than opening",
    "stroke: 20 mm",
    "opening: 15 mm\n      stroke: 20 mm",
    "out-of-range",
    "20 mm\n",
    /opening/,
  ],
  ["a jaw moment in newtons", "force: 140 N", "force: 140 N\n      jaw moment: 12 N", "wrong-unit", "12 N\n"],
  ["V-jaws without an angle", "force: 140 N", "force: 140 N\n      v angle: 0 deg", "out-of-range", "0 deg\n"],
  [
    "a side that no jaw has",
    "way: friction }\n    process times: { lathe.turning: 38",
    "side: above }\n    process times: { lathe.turning: 38",
    "unknown-word",
    "above",
  ],
  ["a safety factor below 1", "production:", "handling: { safety factor: 0.8 }\nproduction:", "out-of-range", "0.8"],
  [
    "a deviation of nothing stated",
    "production:",
    "handling: { deviations: { tray: { distribution: normal } } }\nproduction:",
    "missing-key",
    "{ distribution",
  ],
  [
    "a deviation of unknown distribution",
    "production:",
    "handling: { deviations: { tray: { within: 1 mm } } }\nproduction:",
    "missing-key",
    "{ within",
  ],
  [
    "a negative deviation",
    "production:",
    "handling: { deviations: { tray: { within: -1 mm, distribution: normal } } }\nproduction:",
    "out-of-range",
    "-1 mm",
  ],
  [
    "a fit of a holder that is not there",
    "production:",
    "handling: { fits: { chuk: { bore: 31 mm } } }\nproduction:",
    "missing-holder",
    "chuk",
  ],
  [
    "a fit without its bore",
    "production:",
    "handling: { fits: { lathe.chuck: { depth: 12 mm } } }\nproduction:",
    "missing-key",
    "{ depth",
    /bore/,
  ],
  ["a vector without unit", "at: [0, 0, 150 mm]", "at: [0, 0, 150]", "missing-unit", "0, 0, 150]"],
  ["a vector of two", "at: [0, 0, 150 mm]", "at: [0, 150 mm]", "wrong-length", "[0, 150"],
];

const numbers: readonly Case[] = [
  [
    "a number in quotes",
    "rows: 2, columns: 3, pitch: [60, 60 mm], order: rows, start: short",
    'rows: "2", columns: 3, pitch: [60, 60 mm], order: rows, start: short',
    "not-a-number",
    '"2"',
    /quotes/,
  ],
  [
    "no speed limit",
    "speed: 380 deg/s, acceleration: 1500 deg/s^2, jerk: 15000 deg/s^3, torque: 40 N m,  motor inertia: 0.15 kg m^2 }\n    - { name: J6",
    "acceleration: 1500 deg/s^2 }\n    - { name: J6",
    "missing-key",
    "{ name: J5",
    /speed/,
  ],
];

const ranges: readonly Case[] = [
  ["min above max", "range: [-30, 210 deg]", "range: [210, -30 deg]", "range-order", "[210"],
  ["an empty joint range", "range: [-30, 210 deg]", "range: [30, 30 deg]", "range-order", "[30, 30"],
  ["a time range the wrong way", "open: 0.2 to 0.35 s", "open: 0.35 to 0.2 s", "range-order", "0.35 to"],
  [
    "a tray without rows",
    "rows: 2, columns: 3, pitch: [60, 60 mm], order: rows, start: short",
    "rows: 0, columns: 3, pitch: [60, 60 mm], order: rows, start: short",
    "out-of-range",
    "0, columns",
  ],
  [
    "half a column",
    "columns: 3, pitch: [60, 60 mm], order: rows, start: short",
    "columns: 2.5, pitch: [60, 60 mm], order: rows, start: short",
    "out-of-range",
    "2.5",
  ],
  [
    "no pitch",
    "pitch: [60, 60 mm], order: rows, start: short",
    "pitch: [0, 60 mm], order: rows, start: short",
    "out-of-range",
    "[0, 60",
  ],
  ["a shape without size", "box: [600, 300, 20 mm]", "box: [600, 0, 20 mm]", "out-of-range", "[600, 0"],
  ["a clearance below nothing", "line step: 2 mm }", "line step: 2 mm, clearance: -1 mm }", "out-of-range", "-1 mm"],
  [
    "a clearance of a motion without unit",
    "by: line, speed: 100 mm/s, offset: [0, 0, 2 mm] }",
    "by: line, speed: 100 mm/s, offset: [0, 0, 2 mm], clearance: 2 }",
    "missing-unit",
    "2 }",
  ],
  ["more expected than allowed", "expect: 2 mm", "expect: 12 mm", "out-of-range", "12 mm"],
  ["a day of 48 hours", "per day: 2", "per day: 6", "out-of-range", "{ hours"],
  [
    "an impossible tensor",
    "inertia: [0.03, 0.19, 0.19 kg m^2]",
    "inertia: [0.03, 0.19, 0.9 kg m^2]",
    "impossible-inertia",
    "[0.03",
  ],
  [
    "a negative moment",
    "inertia: [0.03, 0.19, 0.19 kg m^2]",
    "inertia: [-0.03, 0.19, 0.19 kg m^2]",
    "impossible-inertia",
    "[-0.03",
  ],
  [
    "products too large",
    "inertia: [0.03, 0.19, 0.19 kg m^2]",
    "inertia: [0.03, 0.19, 0.19, 0.2, 0, 0 kg m^2]",
    "impossible-inertia",
    "[0.03",
  ],
  [
    "a bad quaternion",
    "in: table, at: [0, 0, 300 mm], abc: [180, 0, 0 deg]",
    "in: table, at: [0, 0, 300 mm], quaternion: [1, 1, 0, 0]",
    "not-a-rotation",
    "[1, 1",
  ],
  [
    "parallel axes",
    "axes: { z: [1, 0, 0], x: [0, 0, 1] }",
    "axes: { z: [1, 0, 0], x: [2, 0, 0] }",
    "not-a-rotation",
    "{ z:",
  ],
  [
    "two orientations",
    "in: table, at: [0, 0, 300 mm], abc: [180, 0, 0 deg]",
    "in: table, at: [0, 0, 300 mm], abc: [180, 0, 0 deg], quaternion: [1, 0, 0, 0]",
    "conflicting-keys",
    "quaternion",
  ],
  [
    "posts in one place",
    "[900, -900 mm], [900, 1200 mm]",
    "[900, 1200 mm], [900, 1200 mm]",
    "out-of-range",
    "[900, 1200 mm], [-900",
  ],
];

const names: readonly Case[] = [
  ["a mistyped key", "stroke: 20 mm", "stroek: 20 mm", "unknown-key", "stroek", /stroke\?/],
  ["a mistyped section", "motion: {", "motions: {", "unknown-key", "motions", /motion\?/],
  ["a mistyped key of a step", "blend: 40 mm", "blnd: 40 mm", "unknown-key", "blnd", /blend\?/],
  ["camel case", "rated load:", "ratedLoad:", "unknown-key", "ratedLoad", /rated load\?/],
  [
    "a mistyped step",
    "- dwell: 0.5 s\n    - go: { to: raw-tray, offset",
    "- dwel: 0.5 s\n    - go: { to: raw-tray, offset",
    "unknown-step",
    "dwel",
    /dwell\?/,
  ],
  ["a mistyped word", "order: rows, start: short", "order: row, start: short", "unknown-word", "row,", /rows\?/],
  ["a missing pose", "- go: home", "- go: hom", "missing-pose", "hom\n", /home\?/],
  ["a missing holder", "from: raw-tray, grip", "from: raw-try, grip", "missing-holder", "raw-try", /raw-tray\?/],
  [
    "a missing signal",
    "signal: door-is-open, limit",
    "signal: door-is-opn, limit",
    "missing-signal",
    "door-is-opn",
    /door-is-open\?/,
  ],
  [
    "a tray that rests on nothing known",
    "at: [0, 0, 0 mm], rests on: [table-top],",
    "at: [0, 0, 0 mm], rests on: [table-tp],",
    "missing-shape",
    "table-tp",
    /table-top\?/,
  ],
  [
    "a contact with an unknown shape",
    "by: line, speed: 100 mm/s, offset: [0, 0, 2 mm] }",
    "by: line, speed: 100 mm/s, offset: [0, 0, 2 mm], may touch: [lathe.chuk] }",
    "missing-shape",
    "lathe.chuk",
  ],
  ["a missing routine", "- run: unload", "- run: unlod", "missing-routine", "unlod", /unload\?/],
  [
    "a missing frame",
    "in: table, at: [0, 0, 300 mm]",
    "in: tabel, at: [0, 0, 300 mm]",
    "missing-frame",
    "tabel",
    /table\?/,
  ],
  ["a missing zone", "sweeps: [doorway]", "sweeps: [dorway]", "missing-zone", "dorway", /doorway\?/],
  ["a missing device", "needs: { door: closed,", "needs: { dor: closed,", "missing-device", "dor:", /door\?/],
  ["a missing position", "needs: { door: closed,", "needs: { door: shut,", "missing-position", "shut"],
  ["a missing port", "input controller 1", "input controler 1", "missing-port", "input controler", /controller\?/],
  [
    "a missing supply",
    "analogue inputs: 2 }\n",
    "analogue inputs: 2, supply: cabnet }\n  supplies: { cabinet: { voltage: 24 V } }\n",
    "missing-supply",
    "cabnet",
    /cabinet\?/,
  ],
  [
    "a station called like a port",
    "analogue inputs: 2 }\n",
    "analogue inputs: 2 }\n  remote: { flange: { unit: 1 } }\n",
    "bad-name",
    "{ unit",
  ],
  ["an input with a load", "input controller 1", "{ direction: input, load: lamp }", "conflicting-keys", "load"],
  ["a missing part", "start: short", "start: shrt", "missing-part", "shrt", /short\?/],
  ["a missing stage", "makes: turned", "makes: turnd", "missing-stage", "turnd", /turned\?/],
  ["a missing grip", "grip: end", "grip: ends", "missing-grip", "ends", /end\?/],
  [
    "a missing gripper",
    "hold: { gripper: gripper, from: raw-tray",
    "hold: { gripper: griper, from: raw-tray",
    "missing-gripper",
    "griper",
    /gripper\?/,
  ],
  [
    "a process nobody has",
    "lathe.turning: 38 to 40 s",
    "lathe.turnning: 38 to 40 s",
    "missing-process",
    "lathe.turnning",
    /lathe.turning\?/,
  ],
  ["a link of no joint", "    J6: { mass", "    J7: { mass", "missing-link", "J7"],
  [
    "a signal without direction",
    "{ direction: output, wired: controller 3,",
    "{ wired: controller 3,",
    "missing-key",
    "{ wired",
    /direction/,
  ],
  ["no home", "  home: {", "  rest: {", "missing-pose", "rest"],
  [
    "home in a frame",
    "home: { joints: [0, 90, 0, 0, -90, 0 deg] }",
    "home: { at: [400, 0, 800 mm] }",
    "bad-home",
    "{ at",
  ],
  ["a joint too few", "joints: [0, 90, 0, 0, -90, 0 deg]", "joints: [0, 90, 0, -90, 0 deg]", "wrong-length", "[0, 90"],
  ["a name with a space", "  table-top: {", "  table top: {", "bad-name", "table top"],
  ["world declared", "    table: { in: world", "    world: { in: world", "bad-name", "world"],
];

const wiring: readonly Case[] = [
  [
    "an input driven",
    "- drive: { arm-clear: on }",
    "- drive: { start-button: on }",
    "signal-direction",
    "start-button",
  ],
  [
    "an output awaited",
    "signal: cycle-complete, limit",
    "signal: cycle-start, limit",
    "signal-direction",
    "cycle-start",
  ],
  ["a command on an input", "level: door-open, on", "level: door-is-open, on", "signal-direction", "door-is-open"],
  [
    "two devices on one output",
    "toggling pulse: chuck-toggle",
    "toggling pulse: door-open",
    "output-used-twice",
    "door-open",
  ],
  ["two sources of an input", "closed: door-is-closed }", "closed: door-is-open }", "input-used-twice", "door-is-open"],
  [
    "two signals on one point",
    "door-is-closed: input controller 2",
    "door-is-closed: input controller 1",
    "point-used-twice",
    "input controller 1",
  ],
  [
    "a point that is not there",
    "input controller 3",
    "input controller 16",
    "no-such-point",
    "input controller 16",
    /another point/,
  ],
  [
    "an analogue signal driven",
    "{ direction: output, wired: controller 3, initial: on, current: 20 mA }",
    "{ direction: output, kind: analogue, wired: controller 1 }",
    "signal-kind",
    "arm-clear",
  ],
  ["an operator on an output", "initial: on, current: 20 mA", "constant: on", "conflicting-keys", "constant"],
  ["a reserved name", "  arm-clear: {", "  any: {", "bad-name", "any"],
];

const routines: readonly Case[] = [
  ["a routine that runs itself", "- run: unload", "- run: main", "recursion", "main"],
  [
    "a round of two",
    "  machine:\n    - drive: { door-open: off }",
    "  machine:\n    - run: main",
    "recursion",
    "machine",
  ],
  ["two steps in one entry", "    - dwell: 0.8 s\n    - free:", "    - dwell: 0.8 s\n      free:", "two-steps", "free"],
  ["a step without value", "    - go: home", "    - go:", "wrong-type", "go"],
  ["a bare word", "    - go: home", "    - go", "wrong-type", "go"],
  ["a branch near a pose in a frame", "near: home", "near: above-table", "bad-branch", "above-table"],
  [
    "no limit",
    "{ signal: door-is-closed, limit: 5 s }",
    "{ signal: door-is-closed }",
    "missing-key",
    "{ signal: door-is-closed }",
    /limit/,
  ],
  [
    "an arc without via",
    "- go: { to: raw-tray, by: line,",
    "- go: { to: raw-tray, by: arc,",
    "conflicting-keys",
    "arc",
    /via/,
  ],
  ["a place of a pose", "{ to: at-door, speed: 90 % }", "{ to: at-door, place: 2 }", "conflicting-keys", "2 }"],
  [
    "a place beyond the tray",
    "{ to: raw-tray, offset: [0, 0, 80 mm] }",
    "{ to: raw-tray, place: 7 }",
    "no-such-place",
    "7 }",
    /Correct/,
  ],
  [
    "a pulse of unknown width",
    "- pulse: chuck-toggle\n    - dwell: 0.8 s\n    - free",
    "- pulse: arm-clear\n    - dwell: 0.8 s\n    - free",
    "missing-key",
    "arm-clear",
    /width/,
  ],
  ["a name for one part only", "- go: home", "- go: { short: home }", "missing-variant", "{ short", /long|missing/],
  [
    "a pose for one part, a holder for the other",
    "- go: home",
    "- go: { to: { short: home, long: raw-tray } }",
    "mixed-target",
    "{ short",
  ],
  [
    "a tray that does not accept what it holds",
    "order: rows, start: short",
    "order: rows, start: short, accepts: [long]",
    "not-accepted",
    "short, accepts",
  ],
  ["a clamping position that is none", "clamps: closed", "clamps: shut", "missing-position", "shut"],
  [
    "a start position that is none",
    "start: closed\n        command: { level",
    "start: shut\n        command: { level",
    "missing-position",
    "shut",
  ],
  [
    "a command to no position",
    "{ level: door-open, on: open, off: closed }",
    "{ level: door-open, on: opn, off: closed }",
    "missing-position",
    "opn",
    /open\?/,
  ],
  [
    "a command with one end",
    "{ level: door-open, on: open, off: closed }",
    "{ level: door-open, on: open, off: open }",
    "same-position",
    "open }",
  ],
  [
    "a feedback at no position",
    "feedback: { open: door-is-open,",
    "feedback: { opn: door-is-open,",
    "missing-position",
    "opn",
  ],
  [
    "a time to no position",
    "time: { open: 1.6 to 2.2 s, closed: 1.8 to 2.4 s }",
    "time: { open: 1.6 to 2.2 s, closd: 1.8 to 2.4 s }",
    "missing-position",
    "closd",
    /closed\?/,
  ],
  [
    "a position without time",
    "time: { open: 1.6 to 2.2 s, closed: 1.8 to 2.4 s }",
    "time: { open: 1.6 to 2.2 s }",
    "missing-key",
    "{ open: 1.6",
  ],
  ["a pose at no position", "moves: { closed:", "moves: { shut:", "missing-position", "shut"],
  [
    "one output for two positions",
    "{ level: door-open, on: open, off: closed }",
    "{ pair: { open: door-open, closed: door-open } }",
    "output-used-twice",
    "{ open: door-open",
  ],
  [
    "a level with a width",
    "{ level: door-open, on: open, off: closed }",
    "{ level: door-open, on: open, off: closed, width: 1 s }",
    "conflicting-keys",
    "width",
  ],
  [
    "two commands",
    "{ level: door-open, on: open, off: closed }",
    "{ level: door-open, on: open, off: closed, toggling pulse: spare }",
    "conflicting-keys",
    "toggling pulse",
  ],
  [
    "a found route along a line",
    "by: line, speed: 100 mm/s, offset: [0, 0, 2 mm] }",
    "by: line, route: find, speed: 100 mm/s, offset: [0, 0, 2 mm] }",
    "conflicting-keys",
    "find",
    /by: line/,
  ],
  [
    "a route that is none",
    "{ to: at-door, speed: 90 % }",
    "{ to: at-door, route: straight }",
    "unknown-word",
    "straight",
  ],
  ["a seed with a fraction", "line step: 2 mm }", "line step: 2 mm, route seed: 1.5 }", "out-of-range", "1.5"],
  ["frames in a circle", "table: { in: world", "table: { in: table", "cyclic-frames", "table, at"],
  ["a process without time", "        time: 38 to 55 s\n", "", "missing-key", "start", /time/],
  [
    "a clamp without place",
    "        holds: { at: [-60, 0, 0 mm], axes: { z: [1, 0, 0], x: [0, 0, 1] } }\n",
    "",
    "missing-key",
    "closed\n",
    /holds/,
  ],
];

const production: readonly Case[] = [
  ["money with a unit", "production:", "production:\n  costs: { investment: 90000 EUR }", "not-a-number", "90000 EUR"],
  ["more money than there is", "production:", "production:\n  costs: { investment: 1e300 }", "out-of-range", "1e300"],
  ["money below nothing", "production:", "production:\n  costs: { investment: -5 }", "out-of-range", "-5 }"],
  [
    "a range of money upside down",
    "production:",
    "production:\n  costs: { investment: 90 to 80 }",
    "range-order",
    "90 to 80",
    /lowest/,
  ],
  [
    "a likely value outside its range",
    "production:",
    "production:\n  costs: { investment: { low: 1, likely: 5, high: 3 } }",
    "range-order",
    "{ low: 1",
  ],
  [
    "a range without its likely value",
    "production:",
    "production:\n  costs: { tooling per part: { low: 1, high: 3 } }",
    "missing-key",
    "{ low: 1",
    /likely/,
  ],
  [
    "an item of money in words",
    "production:",
    "production:\n  costs: { investment: { arm: much } }",
    "not-a-number",
    "much",
  ],
  [
    "three ends of a range",
    "production:",
    "production:\n  costs: { investment: 1 to 2 to 3 }",
    "wrong-type",
    "1 to 2 to 3",
  ],
  ["years of nothing", "production:", "production:\n  costs: { years: 0 }", "out-of-range", "0 }"],
  ["interest without %", "production:", "production:\n  costs: { interest: 0.08 }", "missing-unit", "0.08"],
  ["interest below nothing", "production:", "production:\n  costs: { interest: -2 % }", "out-of-range", "-2 %"],
  [
    "a saving that is stated and computed",
    "production:",
    "production:\n  costs: { saving per year: 5, part value: 2 }",
    "conflicting-keys",
    "part value",
    /one of them/,
  ],
  [
    "a time per day as a number",
    "production:",
    "production:\n  costs: { operator time per day: 2 }",
    "missing-unit",
    "2 }",
  ],
  [
    "a stop that comes all the time",
    "production:",
    "production:\n  stops: { chips: { every: 0 h, time: 1 min } }",
    "out-of-range",
    "0 h",
  ],
  [
    "a stop that needs a robot",
    "production:",
    "production:\n  stops: { chips: { every: 1 h, time: 1 min, needs: robot } }",
    "unknown-word",
    "robot",
  ],
  [
    "a tool that makes half a part",
    "production:",
    "production:\n  tool changes: { insert: { parts: 0.5, time: 1 min } }",
    "out-of-range",
    "0.5",
  ],
  ["nobody attending", "production:", "production:\n  people: { attending: 0, response: 1 min }", "out-of-range", "0,"],
  ["a refill without its time", "production:", "production:\n  refill: {}", "missing-key", "{}", /time/],
  ["more scrap than parts", "production:", "production:\n  scrap: 120 %", "out-of-range", "120 %"],
  ["a year of sixty weeks", "days per week: 5 }", "days per week: 5, weeks per year: 60 }", "out-of-range", "60 }"],
  ["no time without people", "production:", "production:\n  unattended: 0 h", "out-of-range", "0 h"],
];

const groups: readonly (readonly [string, readonly Case[]])[] = [
  ["units", units],
  ["numbers", numbers],
  ["ranges", ranges],
  ["names", names],
  ["wiring", wiring],
  ["routines", routines],
  ["production", production],
];

describe.each(groups)("planted: %s", (_group, cases) => {
  it.each(cases.map((one) => [one[0], one] as const))("%s", (_what, [what, find, put, code, at, mend]) => {
    expect(smallLathe.split(find).length, `"${find}" occurs once`).toBeGreaterThanOrEqual(2);
    // The process without a time of its own needs a part without one as well.
    const text = (
      what === "a process without time"
        ? smallLathe.replace("    process times: { lathe.turning: 52 to 55 s }\n", "")
        : smallLathe
    ).replace(find, put);
    const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
    if (loaded.ok) throw new Error("loaded without an issue");
    const planted = loaded.issues.filter((issue) => issue.code === code);
    expect(planted.length, JSON.stringify(loaded.issues, null, 1)).toBeGreaterThan(0);
    const { place, found, expected } = planted[0]!;
    const line = text.split("\n")[place.line - 1]!;
    expect(`${line.slice(place.column - 1)}\n`).toContain(at);
    expect(
      `${line.slice(place.column - 1)}\n`.startsWith(at),
      `${line.slice(place.column - 1)} begins with ${at}`,
    ).toBe(true);
    expect(found).not.toBe("");
    expect(expected).not.toBe("");
    if (mend) expect(planted[0]!.mend).toMatch(mend);
    // Renaming or removing something that is used is one slip with several places.
    const several = [
      "no home",
      "camel case",
      "world declared",
      "a reserved name",
      "a link of no joint",
      "a clamp without place",
      "a process nobody has",
      "a name with a space",
      "home in a frame",
      "two devices on one output",
      "two commands",
      "a time to no position",
      "an analogue signal driven",
    ];
    if (!several.includes(what)) expect(loaded.issues.map((issue) => issue.code)).toEqual([code]);
  });
});

it("reads the limits of a prismatic joint as lengths, speeds and forces, and reports what is not", () => {
  const row =
    "{ name: J2, a: 450 mm, alpha: 0 deg,   d: 0 mm,   range: [-30, 210 deg],  speed: 200 deg/s, acceleration: 600 deg/s^2,  jerk: 6000 deg/s^3,  torque: 320 N m, motor inertia: 2.4 kg m^2 }";
  const codes = (put: string) => {
    const loaded = loadCell(
      "cell.yaml",
      textSource({
        "cell.yaml": smallLathe
          .replace(row, put)
          .replace("joints: [0, 90, 0, 0, -90, 0 deg]", "joints: [0 deg, 90 mm, 0 deg, 0 deg, -90 deg, 0 deg]")
          .replace("joints: [60, 100, -10, 0, -90, 0 deg]", "joints: [0 deg, 90 mm, 0 deg, 0 deg, -90 deg, 0 deg]"),
      }),
    );
    return loaded.ok ? [] : loaded.issues.map(({ code, path }) => `${code} ${path}`);
  };
  expect(smallLathe).toContain(row);
  expect(
    codes(
      "{ name: J2, kind: prismatic, range: [0, 300 mm], speed: 500 mm/s, acceleration: 2 m/s^2, jerk: 20 m/s^3, torque: 900 N, motor inertia: 4 kg }",
    ),
  ).toEqual([]);
  expect(codes(row.replace("name: J2", "name: J2, kind: prismatic"))).toEqual(
    ["range", "speed", "acceleration", "jerk", "torque", "motor inertia"].map(
      (key) => `wrong-unit arm.joints[1].${key}${key === "range" ? "[1]" : ""}`,
    ),
  );
});

it("reports all errors of a cell at once, in the order of the file", () => {
  const text = smallLathe
    .replace("d: 400 mm", "d: 400")
    .replace("stroke: 20 mm", "stroek: 20 mm")
    .replace("- go: home", "- go: hom")
    .replace("force: 20 N", "force: 20 s")
    .replace("target: 40 /h", "target: many");
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  expect(loaded.ok ? [] : loaded.issues.map(({ code }) => code)).toEqual([
    "missing-unit",
    "unknown-key",
    "missing-pose",
    "wrong-unit",
    "not-a-quantity",
  ]);
});

it("reports what is wrong inside a list of the wrong length as well", () => {
  const loaded = loadCell(
    "cell.yaml",
    textSource({
      "cell.yaml":
        "arm:\n  name: a\n  dh: standard\n  joints:\n    - { name: J1, a: .nan, d: 1 kg, range: [170, -170 deg], speeed: 3 deg/s }\n",
    }),
  );
  const codes = loaded.ok ? [] : loaded.issues.map(({ code }) => code);
  for (const code of ["wrong-length", "not-finite", "wrong-unit", "unknown-key"]) expect(codes).toContain(code);
});
