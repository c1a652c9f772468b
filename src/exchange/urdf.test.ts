import { describe, expect, test } from "vitest";
import { mulberry32, randomArm } from "../../test/arms/random.ts";
import { joint, limit, link, robot, threeJoints } from "../../test/arms/urdf-snippets.ts";
import { urdfText } from "../../test/arms/urdf-text.ts";
import { buildArm, createDynamics, forwardKinematics } from "../arm/index.ts";
import type { InputIssue } from "../cell/issue.ts";
import { readUrdf, type UrdfOptions } from "./index.ts";

function accepted(text: string, options?: UrdfOptions) {
  const result = readUrdf(text, "arm.urdf", options);
  if (!result.ok) throw new Error(JSON.stringify(result.issues));
  return result;
}

function issuesOf(text: string, options?: UrdfOptions): readonly InputIssue[] {
  const result = readUrdf(text, "arm.urdf", options);
  return result.ok ? [] : result.issues;
}

test("joints, limits and defaults", () => {
  const { value, leftOut } = accepted(threeJoints());
  expect(leftOut).toEqual([]);
  expect(value.joints.map(({ name, kind, axis }) => ({ name, kind, axis }))).toEqual([
    { name: "j1", kind: "revolute", axis: [1, 0, 0] },
    { name: "j2", kind: "revolute", axis: [0, 0, 1] },
    { name: "j3", kind: "prismatic", axis: [0, 1, 0] },
  ]);
  const free = Number.POSITIVE_INFINITY;
  expect(value.joints[1]).toMatchObject({ min: -1, max: 2, velocity: 3, torque: 4, acceleration: free, jerk: free });
  // A quarter turn written to full precision is exact.
  expect([...value.joints[1]!.parentFromJoint]).toEqual([0, -1, 0, 0, 1, 0, 0, 0, 0, 0, 1, 0.5, 0, 0, 0, 1]);
  expect(value.links.map(({ name, inertia }) => [name, inertia?.mass])).toEqual([
    ["base", undefined],
    ["a", 1],
    ["b", 2],
    ["c", 3],
  ]);
  expect(value.links[1]!.inertia!.tensor).toEqual([1, 2, 2.5, 0.1, 0.2, 0.3]);
});

test("velocity and effort may be unknown; a continuous joint has no stops", () => {
  const text = threeJoints().replace(limit, '<limit lower="-1"/>').replace('type="revolute"', 'type="continuous"');
  const first = accepted(text).value.joints[0]!;
  expect([first.min, first.max, first.velocity, first.torque]).toEqual([-Infinity, Infinity, Infinity, Infinity]);
});

test("arms written out with fixed joints in between come back the same", () => {
  const random = mulberry32(5);
  for (let k = 0; k < 60; k++) {
    const original = randomArm(random);
    const { value, leftOut } = accepted(urdfText(original, random));
    expect(leftOut).toEqual([]);
    const drives = value.joints.map((j, i) => ({ ...j, motorInertia: original.joints[i]!.motorInertia }));
    const read = buildArm({ ...value, joints: drives });
    const built = buildArm(original);
    const list = (span: number) => Array.from({ length: built.n }, () => span * (2 * random() - 1));
    const [q, qd, qdd] = [list(3), list(2), list(4)] as const;
    const gravity = [1, 2, -9.81];
    const poses = [read, built].map((a) => forwardKinematics(a, q, new Float64Array(16)));
    const torques = [read, built].map((a) =>
      createDynamics(a).torque(q, qd, qdd, gravity, undefined, new Float64Array(a.n)),
    );
    for (let i = 0; i < 16; i++) expect(poses[0]![i]).toBeCloseTo(poses[1]![i]!, 12);
    const size = Math.max(1, ...torques[1]!.map(Math.abs));
    for (let i = 0; i < built.n; i++) expect(torques[0]![i]! / size).toBeCloseTo(torques[1]![i]! / size, 11);
  }
});

test("collision shapes are placed on the moving link, also those of links fixed to it", () => {
  const shapes = `
    <collision><origin xyz="0 0 1"/><geometry><box size="1 2 3"/></geometry></collision>
    <collision name="post"><geometry><cylinder radius="0.1" length="0.5"/></geometry></collision>
    <visual><geometry><mesh filename="looks.stl"/></geometry></visual>`;
  const bolted = `<collision><geometry><mesh filename="package://p/m.stl" scale="0.001 0.001 0.001"/></geometry></collision>
    <collision><geometry><sphere radius="0.2"/></geometry></collision>`;
  const { value } = accepted(
    threeJoints(
      link("d", shapes),
      link("e", bolted),
      joint("f1", "c", "d", '<origin xyz="1 0 0"/>', "fixed"),
      joint("f2", "b", "e", "", "fixed"),
    ),
  );
  expect(value.links[3]!.shapes.map(({ name, shape }) => ({ name, shape }))).toEqual([
    { name: "d 1", shape: { kind: "box", size: [1, 2, 3] } },
    { name: "post", shape: { kind: "cylinder", radius: 0.1, length: 0.5 } },
  ]);
  const [box] = value.links[3]!.shapes;
  expect([box!.ownerFromShape[3], box!.ownerFromShape[11]]).toEqual([1, 1]);
  expect(value.links[2]!.shapes.map(({ shape }) => shape)).toEqual([
    { kind: "mesh", file: "package://p/m.stl", scale: [0.001, 0.001, 0.001] },
    { kind: "sphere", radius: 0.2 },
  ]);
  expect(value.lastFromFlange[3]).toBe(1);
});

describe("which chain", () => {
  const fingers = [
    link("left"),
    link("right"),
    joint("fl", "c", "left", limit, "prismatic"),
    joint("fr", "c", "right", `<mimic joint="fl"/>${limit}`, "prismatic"),
  ];
  test("a branching end must be named, and what lies beyond it is left out", () => {
    expect(issuesOf(threeJoints(...fingers))).toMatchObject([
      { code: "several-tips", path: "tip", mend: "Name the tip link: left, right." },
    ]);
    const { value, leftOut } = accepted(threeJoints(...fingers), { tip: "c" });
    expect(value.joints.length).toBe(3);
    expect(leftOut).toEqual(["left", "right"]);
    expect(accepted(threeJoints(...fingers), { tip: "left" }).value.joints.length).toBe(4);
  });
  test("joints that follow others are refused on the chain only", () => {
    expect(issuesOf(threeJoints(...fingers), { tip: "right" })).toMatchObject([
      { code: "unsupported-joint", path: "joint[fr].mimic", found: "a joint that follows another" },
    ]);
  });
  test("of fixed frames on the last link the outermost is the flange", () => {
    const frames = [link("near"), link("far"), link("side"), joint("n", "c", "near", "", "fixed")];
    const tool = joint("t", "near", "far", '<origin xyz="0 0 0.1"/>', "fixed");
    const { value } = accepted(threeJoints(...frames, tool, joint("s", "c", "side", "", "fixed")));
    expect(value.lastFromFlange[11]).toBe(0.1);
    const even = threeJoints(
      ...frames,
      joint("t", "near", "far", "", "fixed"),
      joint("s", "near", "side", "", "fixed"),
    );
    expect(issuesOf(even)).toMatchObject([{ code: "several-tips", mend: "Name the tip link: far, side." }]);
  });
  test("a longer branch wins over a shorter one", () => {
    const { leftOut } = accepted(threeJoints(link("eye"), joint("pan", "a", "eye", limit)));
    expect(leftOut).toEqual(["eye"]);
  });
  test("the base may be above which nothing belongs to the arm", () => {
    const onRail = threeJoints(link("world"), joint("rail", "world", "base", "", "floating"));
    expect(issuesOf(onRail)).toMatchObject([{ code: "unsupported-joint", found: "a floating joint" }]);
    const { leftOut, value } = accepted(onRail, { base: "base" });
    expect(leftOut).toEqual(["world"]);
    expect(value.links[0]!.name).toBe("base");
  });
  test("names that are not there, and tips that are not below the base", () => {
    expect(issuesOf(threeJoints(), { base: "bsae", tip: "zzz" })).toMatchObject([
      { code: "unknown-base", found: '"bsae"', mend: "Did you mean base?" },
      { code: "unknown-tip", mend: "Its links: base, a, b, c." },
    ]);
    expect(issuesOf(threeJoints(), { base: "c", tip: "a" })).toMatchObject([
      { code: "no-chain", found: '"a" not below "c"' },
    ]);
    expect(issuesOf(threeJoints(), { tip: "b" })).toMatchObject([
      { code: "joint-count", found: '2 moving joints from "base" to "b"' },
    ]);
  });
});

describe("places", () => {
  test("line and column of an attribute, with CRLF and wide characters before it", () => {
    const text = threeJoints().replace("\n", "\r\n<!-- 𝛼β -->\r\n").replace('xyz="0 0 0.5"', 'xyz="0 0 half"');
    const [issue] = issuesOf(text);
    const line = text.split("\n").findIndex((row) => row.includes("half"));
    expect(issue).toMatchObject({ code: "bad-number", path: "joint[j2].origin.xyz", found: '"0 0 half"' });
    expect(issue!.place).toEqual({
      file: "arm.urdf",
      line: line + 1,
      column: text.split("\n")[line]!.indexOf("xyz=") + 1,
    });
  });
  test("attributes in single quotes and spread over lines", () => {
    const [issue] = issuesOf(threeJoints().replace('<axis xyz="0 1 0"/>', "<axis\n   xyz = '0 \"q\" 0'\n/>"));
    expect(issue).toMatchObject({ path: "joint[j3].axis.xyz", found: '"0 "q" 0"', place: { column: 4 } });
  });
  test("all problems at once, in the order of the file", () => {
    const text = threeJoints()
      .replace('mass value="2"', 'mass value="-2"')
      .replace('type="prismatic"', 'type="sliding"')
      .replace('upper="2"', 'upper="NaN"')
      .replace('<link name="base">', "<link nmae='base'>");
    const found = issuesOf(text);
    expect(found.map(({ code, place }) => [code, place.line])).toEqual([
      ["missing-attribute", 2],
      ["out-of-range", 4],
      ["unknown-link", 6],
      ["bad-number", 6],
      ["unknown-joint-type", 8],
    ]);
  });
});

test.each<[string, string, Partial<InputIssue>]>([
  ["nothing", "", { code: "not-xml" }],
  ["plain text", "hello", { code: "not-xml" }],
  ["an unclosed element", "<robot name='r'><link>", { code: "not-xml" }],
  ["another document", "<sdf/>", { code: "not-urdf", found: "<sdf>" }],
  [
    "a document type with entities",
    '<!DOCTYPE r [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><robot name="&b;"/>',
    { code: "doctype" },
  ],
  ["an undeclared entity", '<robot name="&x;"/>', { code: "not-xml" }],
  ["no links", robot(), { code: "missing-element", found: "no <link>" }],
  ["a macro", robot('<xacro:arm prefix="l"/>'), { code: "xacro", found: "<xacro:arm>" }],
  ["an expression", threeJoints().replace("0 0 0.5", "0 0 $" + "{h}"), { code: "xacro", path: "origin.xyz" }],
  [
    "a loop",
    robot(link("a"), link("b"), joint("1", "a", "b", limit), joint("2", "b", "a", limit)),
    { code: "loop", found: "a, b" },
  ],
  ["a link on itself", robot(link("a"), joint("1", "a", "a", limit)), { code: "loop", found: "a" }],
  [
    "a loop beside the arm",
    threeJoints(link("x"), link("y"), joint("1", "x", "y", limit), joint("2", "y", "x", limit)),
    { code: "loop" },
  ],
  ["two roots", threeJoints(link("loose")), { code: "several-roots", path: "link[loose]" }],
  ["two parents", threeJoints(joint("again", "a", "c", limit)), { code: "several-parents" }],
  [
    "a missing link",
    threeJoints(joint("j4", "c", "bb", limit)),
    { code: "unknown-link", found: 'link "bb"', mend: "Did you mean b?" },
  ],
  ["a repeated link", threeJoints(link("a")), { code: "repeated-name", found: 'a second link "a"' }],
  [
    "a repeated joint",
    threeJoints(link("d"), joint("j1", "c", "d", limit)),
    { code: "repeated-name", found: 'a second joint "j1"' },
  ],
  ["a zero axis", threeJoints().replace("0 0 2", "0 0 0"), { code: "zero-axis" }],
  ["an axis of two numbers", threeJoints().replace("0 0 2", "0 1"), { code: "bad-number" }],
  ["infinity", threeJoints().replace('velocity="3"', 'velocity="inf"'), { code: "bad-number" }],
  ["an overflow", threeJoints().replace('velocity="3"', 'velocity="1e999"'), { code: "bad-number" }],
  [
    "a speed of zero",
    threeJoints().replace('velocity="3"', 'velocity="0"'),
    { code: "out-of-range", path: "joint[j1].limit.velocity" },
  ],
  [
    "millimetres",
    threeJoints().replace("0 0 0.5", "0 0 5000"),
    { code: "out-of-range", expected: "3 numbers (m), none beyond 1000" },
  ],
  ["reversed limits", threeJoints().replace('lower="-1"', 'lower="3"'), { code: "limits-reversed" }],
  ["no limits", threeJoints().replace(limit, ""), { code: "missing-element", path: "joint[j1].limit" }],
  ["no range", threeJoints().replace(limit, '<limit effort="1" velocity="1"/>'), { code: "missing-attribute" }],
  [
    "a planar joint",
    threeJoints().replace('type="prismatic"', 'type="planar"'),
    { code: "unsupported-joint", found: "a planar joint" },
  ],
  ["no mass", threeJoints().replace('<mass value="1"/>', ""), { code: "missing-element", path: "link[a].inertial" }],
  [
    "an impossible inertia",
    threeJoints().replace('ixy="0.1"', 'ixy="9"'),
    { code: "impossible-inertia", path: "link[a].inertial.inertia" },
  ],
  [
    "a mistyped element",
    threeJoints().replaceAll("inertial>", "inertail>"),
    { code: "unknown-element", mend: "Did you mean inertial?" },
  ],
  [
    "a shape without size",
    threeJoints(link("d", "<collision><geometry><box/></geometry></collision>")),
    { code: "missing-attribute" },
  ],
  [
    "an unknown shape",
    threeJoints().replace("<inertial>", "<collision><geometry><cone/></geometry></collision><inertial>"),
    { code: "unknown-element", found: "<cone>" },
  ],
  ["two origins", threeJoints().replace('<axis xyz="0 0 2"/>', "<origin/>"), { code: "repeated-element" }],
  [
    "an eight-joint arm",
    threeJoints(
      ...[4, 5, 6, 7, 8].flatMap((i) => [link(`l${i}`), joint(`k${i}`, i === 4 ? "c" : `l${i - 1}`, `l${i}`, limit)]),
    ),
    { code: "joint-count", found: '8 moving joints from "base" to "l8"' },
  ],
])("refuses %s", (_, text, expected) => {
  const found = issuesOf(text);
  expect(found.map(({ code }) => code)).toContain(expected.code);
  expect(found.find(({ code }) => code === expected.code)).toMatchObject(expected);
});
