import { describe, expect, it } from "vitest";
import { smallLathe, textSource } from "../../test/cells/texts.ts";
import { buildArm, createDynamics } from "../arm/index.ts";
import { type Cell, formatIssue, loadCell } from "../cell/index.ts";
import { simulate } from "../cycle/index.ts";
import { FindingList } from "./findings.ts";
import { addLoadFindings } from "./fixed-findings.ts";
import { piecesOf } from "./handling/along.ts";
import { carriedLoad } from "./load.ts";
import { createMover, movesMade } from "./mover.ts";
import { surveyLoads } from "./payload.ts";

const RATED = "rated load: { mass: 6 kg, distance: 120 mm";
const MOMENTS =
  "moments: [none, none, none, 9 N m, 9 N m, 5 N m], inertias: [none, none, none, 0.5 kg m^2, 0.5 kg m^2, 0.1 kg m^2]";

function cellOf(...changes: readonly (readonly [string, string])[]): Cell {
  let text = smallLathe;
  for (const [find, put] of changes) {
    expect(text).toContain(find);
    text = text.replaceAll(find, put);
  }
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
  return loaded.value;
}
const cell = cellOf([RATED, `${RATED}, ${MOMENTS}`]);
const arm = buildArm(cell.arm);
const run = simulate(cell, createMover(cell, arm), { variant: "short", pace: "nominal" });

describe("the load about the joints along a run", () => {
  const { joints } = surveyLoads(cell, arm, [run]);
  const { n } = arm;
  const dynamics = createDynamics(arm);
  const inertia = new Float64Array(n);
  const moment = new Float64Array(n);
  const state = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
  const [loaded, bare] = [new Float64Array(n * n), new Float64Array(n * n)];
  const [withLoad, without] = [new Float64Array(n), new Float64Array(n)];
  for (const { context, move } of movesMade([run])) {
    const load = carriedLoad(cell, context.held)!;
    const pieces = piecesOf(move.motion);
    for (let k = 0; k <= pieces; k++) {
      move.motion.sample((move.motion.duration * k) / pieces, state);
      dynamics.massMatrix(state.q, load, loaded);
      dynamics.massMatrix(state.q, undefined, bare);
      const squares = new Float64Array(n);
      for (const axis of [0, 1, 2]) {
        const gravity = [0, 0, 0];
        gravity[axis] = 9.80665;
        dynamics.gravityTorque(state.q, gravity, load, withLoad);
        dynamics.gravityTorque(state.q, gravity, undefined, without);
        for (let i = 0; i < n; i++) squares[i]! += (withLoad[i]! - without[i]!) ** 2;
      }
      for (let i = 0; i < n; i++) {
        inertia[i] = Math.max(inertia[i]!, loaded[i * n + i]! - bare[i * n + i]!);
        moment[i] = Math.max(moment[i]!, Math.sqrt(squares[i]!));
      }
    }
  }

  it("adds its inertia to the diagonal of the joint-space inertia matrix", () => {
    for (let i = 0; i < n; i++) expect(joints[i]!.inertia).toBeCloseTo(inertia[i]!, 9);
  });

  it("has the moment that gravity makes in the worst direction: torques of three directions, squares added", () => {
    for (let i = 0; i < n; i++) expect(joints[i]!.moment).toBeCloseTo(moment[i]!, 6);
  });
});

describe("findings about the load", () => {
  const found = (...changes: readonly (readonly [string, string])[]) => {
    const changed = cellOf(...changes);
    const findings = new FindingList(changed);
    addLoadFindings(changed, surveyLoads(changed, arm, [run]), findings);
    return findings.sorted().map(({ code, message }) => `${code}: ${message}`);
  };

  it("are none where everything is within the rating", () => {
    expect(found([RATED, `${RATED}, ${MOMENTS}`])).toEqual([]);
  });

  it("name the joint whose rated moment or inertia is exceeded", () => {
    const weak = MOMENTS.replace("9 N m, 5 N m]", "0.1 N m, 5 N m]").replace("0.5 kg m^2, 0.1", "0.0001 kg m^2, 0.1");
    const [first, second] = found([RATED, `${RATED}, ${weak}`]);
    expect(first).toMatch(/^rated-inertia-exceeded: .* about J5 reaches .* rated are 0.000 kg m²/);
    expect(second).toMatch(/^rated-moment-exceeded: .* about J5 reaches .* rated are 0.1 N m/);
  });

  it("compare the load with the largest moment, also where another is heavier", () => {
    // Raw: heavy with its centre at the flange; turned: lighter, with its centre far out.
    const stages: [string, string] = [
      "stages: { raw: 0.33 kg, turned: 0.28 kg }",
      "stages: { raw: { mass: 2 kg, centre: [0, 0, 150 mm] }, turned: { mass: 1.5 kg, centre: [0, 0, -400 mm] } }",
    ];
    const [finding, ...others] = found(stages);
    expect(others).toEqual([]);
    expect(finding).toMatch(/^load-too-far-out: the load of 2.60 kg/);
  });
});
