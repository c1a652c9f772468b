/** Findings about holding parts and seating them. */

import type { Cell } from "../../cell/model.ts";
import { stepOf } from "../../cell/step-walk.ts";
import { toDegrees, toMm } from "../../math/units.ts";
import type { FindingList } from "../findings.ts";
import type { GripReport } from "../result.ts";
import { IMPROBABLE_FRICTION } from "./grip-report.ts";
import type { SizedHandling } from "./index.ts";
import type { SeatingReport } from "./report.ts";

/** A grip with less than this times the needed force gets a warning. */
const SCANT_GRIP = 1.2;
/** Parts that do not enter, above which there is a warning: about one in a working week of one machine. */
const MISSES = 1e-4;
/** Share of insertions that begin beyond the wedging limit, above which there is a warning. */
const WEDGES = 1e-3;
/** A push more off the way into a place than this is not along it, rad. */
const PUSH_TILT = (2 * Math.PI) / 180;

const newtons = (value: number): string => `${value.toFixed(0)} N`;
const millimetres = (value: number): string => `${toMm(value).toFixed(2)} mm`;

export function addHandlingFindings(cell: Cell, sized: SizedHandling, findings: FindingList): void {
  for (const grip of sized.grip) {
    addForce(grip, findings);
    addJaws(grip, findings);
  }
  addUnstatedJaws(cell, sized.grip, findings);
  for (const seating of sized.seating) addSeating(cell, seating, findings);
  addUnstatedFits(cell, sized.seating, findings);
}

const gripWords = (grip: GripReport): string => `${grip.gripper} on ${grip.part} (${grip.grip})`;
const subjectOf = (grip: GripReport): string => `${grip.part}|${grip.grip}`;

function addForce(grip: GripReport, findings: FindingList): void {
  const { sizing } = grip;
  const gripper = ["tool", "grippers", grip.gripper];
  const what = gripWords(grip);
  const subject = subjectOf(grip);
  if (grip.needed_N === null) {
    findings.add(
      "friction-not-stated",
      "caution",
      ["parts", grip.part, "grips", grip.grip],
      `${what}: no friction is stated, so the grip force needed is unknowable`,
      "State `friction` of the grip or the gripper; measure it on the real, coolant-wet pair.",
      subject,
    );
    return;
  }
  for (const stage of sizing.stages)
    if (stage.friction !== null && stage.friction > IMPROBABLE_FRICTION)
      findings.add(
        "friction-improbable",
        "caution",
        ["parts", grip.part, "grips", grip.grip],
        `${what}: a friction of ${stage.friction} (${stage.frictionFrom}) is more than jaws usually have, and every force hangs on it`,
        "Measure it on the real, coolant-wet pair.",
        subject,
      );
  const factor = `safety factor ${sizing.safetyFactor}`;
  const { motion, stop } = sizing;
  const needed = `${newtons(grip.needed_N)} per jaw are needed at ${motion.acceleration_mps2.toFixed(1)} m/s² in ${motion.step} with ${factor}`;
  if (grip.available_N === null) {
    if (grip.needed_N > 0)
      findings.add(
        "grip-force-not-stated",
        "caution",
        gripper,
        `${what}: ${needed}, but the gripper's force is not stated`,
        "State `force`, per jaw, from the gripper's data sheet.",
        subject,
      );
    return;
  }
  const mend =
    "Take a stronger gripper, jaws with more friction or form fit, or slow the motions while the part is held.";
  if (grip.available_N < grip.needed_N)
    findings.add(
      "grip-too-weak",
      "error",
      gripper,
      `${what}: ${needed}, the gripper gives ${newtons(grip.available_N)}`,
      mend,
      subject,
    );
  else if (grip.available_N < SCANT_GRIP * grip.needed_N)
    findings.add(
      "grip-scant",
      "warning",
      gripper,
      `${what}: ${needed}, the gripper gives ${newtons(grip.available_N)}`,
      "A little more oil or acceleration uses the reserve up: measure the friction, or take a stronger gripper.",
      subject,
    );
  if (stop === null) {
    findings.add(
      "stop-not-known",
      "caution",
      ["arm"],
      "neither joint accelerations nor a stopping time are stated, so what a stop asks of the grips is unknowable",
      "State the acceleration limits of all joints, or `stopping time` under guarding.",
    );
    return;
  }
  const braking = stop.needed_N!;
  // Where the motions alone ask for too much, a stop says nothing new.
  if (grip.available_N >= braking || grip.available_N < grip.needed_N) return;
  const bare = braking / sizing.safetyFactor;
  const slips =
    grip.available_N < bare ? "the part slips or is thrown" : "it holds, but not with the safety factor wanted";
  findings.add(
    "grip-weak-in-stop",
    "warning",
    gripper,
    `${what}: a stop in ${stop.step} by ${stop.by} (${stop.acceleration_mps2.toFixed(1)} m/s²) asks for ${newtons(braking)} per jaw with ${factor}, the gripper gives ${newtons(grip.available_N)}: ${slips}`,
    mend,
    subject,
  );
}

function addJaws(grip: GripReport, findings: FindingList): void {
  const { jawMoment, opening } = grip.sizing;
  const gripper = ["tool", "grippers", grip.gripper];
  const what = gripWords(grip);
  const subject = subjectOf(grip);
  if (jawMoment.rated_Nm !== null && jawMoment.value_Nm > jawMoment.rated_Nm)
    findings.add(
      "jaw-moment-exceeded",
      "error",
      gripper,
      `${what}: the load turns one jaw with ${jawMoment.value_Nm.toFixed(2)} N m in ${jawMoment.step}, rated are ${jawMoment.rated_Nm.toFixed(2)} N m; its centre of mass is ${toMm(jawMoment.lever_m).toFixed(0)} mm from the ${jawMoment.leverFrom}`,
      "Grip the part nearer to its centre of mass, shorten the fingers, or take a gripper with stronger guides.",
      subject,
    );
  if (opening === null) return;
  const width = `${millimetres(opening.width_m)}${opening.tolerance_m > 0 ? ` ± ${millimetres(opening.tolerance_m)}` : ""}`;
  if (opening.release_m < 0)
    findings.add(
      "jaws-too-narrow",
      "error",
      gripper,
      `${what}: gripped ${opening.side} at ${width}, the released jaws are ${millimetres(-opening.release_m)} per side too ${opening.side === "outside" ? "close together" : "far apart"}`,
      "Take jaws or a gripper with another opening, or grip the part elsewhere.",
      subject,
    );
  else if (opening.release_m < opening.required_m)
    findings.add(
      "jaws-open-scant",
      "warning",
      gripper,
      `${what}: gripped ${opening.side} at ${width}, the released jaws leave ${millimetres(opening.release_m)} per side; ${millimetres(opening.required_m)} are wanted`,
      "Take more stroke, or state a smaller `jaw room` under handling if the approach is that exact.",
      subject,
    );
  if (opening.hold_m < 0)
    findings.add(
      "jaws-do-not-reach",
      "error",
      gripper,
      `${what}: the jaws end their way ${millimetres(-opening.hold_m)} before they hold the ${opening.side === "outside" ? "thinnest" : "widest"} part, ${width}`,
      "Take other jaws, or more stroke.",
      subject,
    );
}

/** One caution per gripper, about everything of its jaws that is not stated. */
function addUnstatedJaws(cell: Cell, grips: readonly GripReport[], findings: FindingList): void {
  for (const name of new Set(grips.map((g) => g.gripper))) {
    const gripper = cell.tool.grippers.get(name)!;
    const widths = grips.filter((g) => g.gripper === name);
    const missing: string[] = [];
    if (gripper.jawMoment === undefined) missing.push("no `jaw moment`: whether its guides bear the parts");
    if (gripper.opening === undefined || gripper.stroke === undefined)
      missing.push(
        `no \`${gripper.opening === undefined ? "opening" : "stroke"}\`: whether its jaws open and close far enough`,
      );
    else {
      const without = widths.filter((g) => g.sizing.opening === null).map((g) => g.part);
      if (without.length > 0)
        missing.push(`no \`width\` of the grip on ${without.join(", ")}: whether its jaws open and close far enough`);
    }
    if (missing.length > 0)
      findings.add(
        "jaws-not-stated",
        "caution",
        ["tool", "grippers", name],
        `of ${name} some things are not stated and what hangs on them is unknowable: ${missing.join("; ")}`,
        "State them from the gripper's data sheet.",
      );
  }
}

function addSeating(cell: Cell, seating: SeatingReport, findings: FindingList): void {
  const { holder, part, fit, press } = seating;
  const at = ["handling", "fits", holder];
  const subject = `${holder}|${part}`;
  if (fit !== null) {
    const sizes = `${millimetres(fit.part_m)} into ${millimetres(fit.bore_m)}`;
    if (fit.part_m >= fit.bore_m)
      findings.add(
        "part-too-thick",
        "error",
        at,
        `${part} does not go into ${holder}: ${sizes}`,
        "Open the chuck wider, or correct bore and diameter.",
        subject,
      );
    else if (1 - fit.trial.enters > MISSES)
      findings.add(
        "part-may-miss",
        "warning",
        at,
        `${part} enters ${holder} in ${percentOf(fit.trial.enters)} of ${fit.trial.insertions} trial insertions (${sizes}; ${millimetres(fit.lateral_m)} off and ${toDegrees(fit.tilt_rad).toFixed(2)}° are caught); most of the spread comes from ${largest(fit)}`,
        `Make ${largest(fit)} smaller, or the chamfer or the opening wider.`,
        subject,
      );
    if (fit.trial.mayWedge !== null && fit.trial.mayWedge > WEDGES)
      findings.add(
        "part-may-wedge",
        "warning",
        at,
        `${part} enters ${holder} tilted by more than ${toDegrees(fit.wedgingTilt_rad!).toFixed(3)}° in ${percentOf(fit.trial.mayWedge)} of the trial insertions: on two-sided contact in the first ${millimetres(fit.wedgingDepth_m!)} it can wedge`,
        "Make the tilt smaller, the clearance larger, or the seat slippery; let the gripper give way sideways.",
        subject,
      );
  }
  if (press !== null) addPress(cell, seating, press, findings);
}

function addPress(
  cell: Cell,
  { holder, part, gripper }: SeatingReport,
  press: NonNullable<SeatingReport["press"]>,
  findings: FindingList,
): void {
  const path = pathOfStep(cell, press.step);
  const subject = `${holder}|${part}`;
  if (press.pushLimit_N !== null && press.force_N > press.pushLimit_N)
    findings.add(
      "press-above-limit",
      "error",
      path,
      `${part} is pressed into ${holder} with ${newtons(press.force_N)}, stop and jaws allow ${newtons(press.pushLimit_N)}`,
      `Press with at most ${newtons(press.pushLimit_N)}.`,
      subject,
    );
  if (press.slip_N !== null && press.slip_N < press.force_N)
    findings.add(
      "press-slips-in-jaws",
      "warning",
      path,
      `${gripper} lets ${part} slip along its jaws at ${newtons(press.slip_N)}, and it is pressed with ${newtons(press.force_N)}`,
      "Press with less, or let the part rest against a shoulder of the jaws (`way: form`).",
      subject,
    );
  if (press.tilt_rad !== null && press.tilt_rad > PUSH_TILT)
    findings.add(
      "press-off-axis",
      "warning",
      path,
      `the push into ${holder} is ${toDegrees(press.tilt_rad).toFixed(1)}° off its axis`,
      "Turn the tool so that its z axis points into the place.",
      subject,
    );
  if (press.jamming !== null && press.jamming > 1)
    findings.add(
      "press-jams",
      "warning",
      path,
      `pressing ${part} into ${holder} can jam by ${press.jammingBy}: ${press.jamming.toFixed(2)} times what still slides, at the worst deviations`,
      "Push nearer to the axis, make the deviations smaller, or the friction lower.",
      subject,
    );
  const room = press.travel_m - press.expect_m;
  if (press.along_m > room)
    findings.add(
      "press-travel-short",
      "warning",
      path,
      `deviations along the way into ${holder} add up to ${millimetres(press.along_m)}, and the travel ends ${millimetres(room)} after the contact expected: a good part can count as not seated`,
      `Let the travel be at least ${millimetres(press.expect_m + press.along_m)}.`,
      subject,
    );
  if (press.along_m > press.expect_m)
    findings.add(
      "press-contact-early",
      "caution",
      path,
      `deviations along the way into ${holder} add up to ${millimetres(press.along_m)}, and contact is expected after ${millimetres(press.expect_m)}: the part can touch before the arm presses`,
      `End the motion before the press at least ${millimetres(press.along_m)} before the contact.`,
      subject,
    );
}

/** One caution for all places that parts are clamped in or pressed into without a stated fit. */
function addUnstatedFits(cell: Cell, seatings: readonly SeatingReport[], findings: FindingList): void {
  const without = seatings.filter(
    ({ holder, fit, press }) => fit === null && (press !== null || cell.holders.get(holder)?.kind === "device"),
  );
  if (without.length === 0) return;
  const names = [...new Set(without.map(({ holder }) => holder))];
  findings.add(
    "fit-not-stated",
    "caution",
    ["handling"],
    `what parts go into is not stated, or not how thick they are, for ${names.join(", ")}: whether they enter, wedge or jam is unknowable`,
    "State `fits` under handling: bore, chamfer, depth and friction; and the deviations that add up.",
  );
}

const percentOf = (share: number): string => `${(100 * share).toFixed(share > 0.99 || share < 0.01 ? 3 : 1)} %`;

function largest(fit: NonNullable<SeatingReport["fit"]>): string {
  const most = fit.deviations.reduce<(typeof fit.deviations)[number] | undefined>(
    (a, b) => (a === undefined || b.share > a.share ? b : a),
    undefined,
  );
  return most === undefined || most.share === 0 ? "the sizes" : most.name;
}

function pathOfStep(cell: Cell, id: string): readonly (string | number)[] {
  return stepOf(cell, id)?.path ?? ["routines"];
}
