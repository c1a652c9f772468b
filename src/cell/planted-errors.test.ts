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
