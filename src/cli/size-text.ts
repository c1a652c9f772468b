/** The sizing of a cell as text for people: grips, jaws, loads with the joints that bear them, seats, then the findings. */
import type {
  FitReport,
  GripLoadReport,
  GripReport,
  LoadCaseReport,
  PressReport,
  SeatingReport,
  SizeReport,
} from "../check/index.ts";
import { fixed, millimetres, NONE, percent, seconds } from "../dossier/figures.ts";
import { findingLines, headed, heading } from "./check-text.ts";
import { type Colors, colorsFor, type Layout } from "./terminal.ts";
import { clean, paragraph, table } from "./text.ts";

/** Width of the names in front of the lines. */
const NAMES = 14;

const newtons = (value: number | null): string => (value === null ? NONE : `${fixed(value, 0)} N`);
const degrees = (rad: number): string => `${fixed((180 * rad) / Math.PI, 2)}°`;
const fine = (m: number): string => `${fixed(1000 * m, 2)} mm`;

/** Lines of the report, ending in newlines. */
export function sizeText(report: SizeReport, layout: Layout): string {
  const colors = colorsFor(layout);
  const lines: string[] = [heading(report.cell, colors), ""];
  const say = (name: string, text: string) =>
    lines.push(...paragraph(clean(text), layout.width, `  ${name}`.padEnd(NAMES), " ".repeat(NAMES)));
  for (const grip of report.grip) {
    lines.push(heading(`Grip: ${grip.gripper} on ${grip.part} (${grip.grip})`, colors));
    gripLines(grip, say);
    lines.push("");
  }
  if (report.loads.length > 0) lines.push(...loadLines(report, colors, layout), "");
  const told = report.seating.filter(({ press, fit }) => press !== null || fit !== null);
  for (const seating of told) {
    lines.push(heading(`Seat: ${seating.part} in ${seating.holder}`, colors));
    seatLines(seating, say);
    lines.push("");
  }
  const untold = report.seating.filter((seating) => !told.includes(seating));
  if (untold.length > 0) {
    lines.push(heading("Seats without a push and a stated fit", colors));
    say("", untold.map(({ part, holder }) => `${part} in ${holder}`).join(", "));
    lines.push("");
  }
  lines.push(...findingLines(report.findings, colors, layout));
  while (lines.at(-1) === "") lines.pop();
  const text = `${lines.join("\n")}\n`;
  return layout.ascii ? plain(text) : text;
}

type Say = (name: string, text: string) => void;

function gripLines(grip: GripReport, say: Say): void {
  const { sizing } = grip;
  const { motion, stop, margin, jawMoment, opening } = sizing;
  if (sizing.method === null) say("force", "needed: unknowable, no friction is stated");
  else {
    const most = Math.max(grip.needed_N ?? 0, stop?.needed_N ?? 0);
    const verdict =
      grip.available_N === null
        ? "available: not stated"
        : `available ${newtons(grip.available_N)}${margin === null ? "" : `, ${fixed(margin, 2)} times what is needed`}`;
    say(
      "force",
      `needed ${newtons(most)} per jaw, ${verdict}; decided by ${sizing.worst === "stop" ? "a stop" : "the motions"}`,
    );
    say(
      "by",
      `${sizing.method}: ${sizing.formula}, S ${sizing.safetyFactor}${sizing.safetyFactorFrom === "default" ? " (default)" : ""}`,
    );
    for (const s of sizing.stages)
      say(
        s === sizing.stages[0] ? "stages" : "",
        `${s.stage} ${fixed(s.mass_kg, 3)} kg, µ ${s.friction === null ? NONE : `${s.friction} ${s.frictionFrom}`}: motions ${newtons(s.motion_N)}, stop ${newtons(s.stop_N)}`,
      );
  }
  say("motions", momentText(motion));
  if (stop === null) say("stop", "unknowable: neither joint accelerations nor a stopping time are stated");
  else say("stop", `${momentText(stop)}; by ${stop.by}`);
  const rated = jawMoment.rated_Nm === null ? "rated moment not stated" : `rated ${fixed(jawMoment.rated_Nm, 2)} N m`;
  say(
    "jaws",
    `${fixed(jawMoment.value_Nm, 2)} N m on one jaw in ${jawMoment.step} at ${seconds(jawMoment.time_s)}, ${rated}; centre of mass ${millimetres(jawMoment.lever_m)} from the ${jawMoment.leverFrom}`,
  );
  say(
    "opening",
    opening === null
      ? "unknowable: opening, stroke or width is not stated"
      : `${opening.side} at ${fine(opening.width_m)} ± ${fine(opening.tolerance_m)}: ${fine(opening.release_m)} per side when released (${fine(opening.required_m)} wanted), ${fine(opening.hold_m)} of way left when holding`,
  );
  for (const caution of grip.cautions) say(caution === grip.cautions[0] ? "note" : "", caution);
}

function momentText(load: GripLoadReport): string {
  const [x, y, z] = load.load_N.map((f) => fixed(f, 1));
  const force = load.needed_N === null ? "" : `${newtons(load.needed_N)} per jaw, by ${load.decides}; `;
  return `${force}${load.stage} in ${load.step} at ${seconds(load.time_s)} (${load.variant}): ${fixed(load.acceleration_mps2, 1)} m/s², load x ${x}, y ${y}, z ${z} N`;
}

function loadLines(report: SizeReport, colors: Colors, layout: Layout): string[] {
  const rated = report.arm.ratedMass_kg;
  const title = `Load at the flange, rated ${rated === null ? "not stated" : `${fixed(rated, 2)} kg`}`;
  const columns = [
    { title: "load", align: "left", atLeast: 12 },
    { title: "kg", align: "right" },
    { title: "centre mm", align: "right" },
    { title: "moment N m", align: "right" },
    { title: "rated N m", align: "right" },
    { title: "inertia kg m²", align: "right", dropped: 1 },
  ] as const;
  const rows = report.loads.map((load) => [
    clean(load.load),
    fixed(load.mass_kg, 2),
    fixed(1000 * Math.hypot(...load.centre_m), 0),
    fixed(load.moment_Nm, 2),
    load.ratedMoment_Nm === null ? NONE : fixed(load.ratedMoment_Nm, 2),
    fixed(Math.max(...load.inertia_kgm2), 4),
  ]);
  const lines = [heading(title, colors), ...headed(table(columns, rows, layout.width, layout.ascii), colors)];
  const joints = jointRows(report.loads);
  if (joints.length === 0) return lines;
  const jointColumns = [
    { title: "joint", align: "left" },
    { title: "torque N m", align: "right" },
    { title: "limit N m", align: "right" },
    { title: "left", align: "right" },
    { title: "load", align: "left", atLeast: 10 },
    { title: "step", align: "left", atLeast: 8 },
    { title: "at s", align: "right" },
  ] as const;
  lines.push(
    "",
    heading("Joint torques at their worst", colors),
    ...headed(table(jointColumns, joints, layout.width, layout.ascii), colors),
  );
  return lines;
}

/** Per joint the load and moment with the largest torque. */
function jointRows(loads: readonly LoadCaseReport[]): string[][] {
  const joints = loads[0]?.joints ?? [];
  return joints.map((_, i) => {
    const worst = loads.reduce((a, b) => (b.joints[i]!.torque_Nm > a.joints[i]!.torque_Nm ? b : a));
    const j = worst.joints[i]!;
    return [
      clean(j.joint),
      fixed(j.torque_Nm, 1),
      j.limit_Nm === null ? NONE : fixed(j.limit_Nm, 1),
      j.margin === null ? NONE : percent(j.margin),
      clean(worst.load),
      clean(j.step),
      fixed(j.time_s, 2),
    ];
  });
}

function seatLines({ press, fit, gripper, step, cautions }: SeatingReport, say: Say): void {
  say("left by", `${gripper} in ${step}`);
  if (press === null) say("push", "none");
  else pressLines(press, say);
  if (fit !== null) fitLines(fit, say);
  for (const caution of cautions) say(caution === cautions[0] ? "note" : "", caution);
}

function pressLines(press: PressReport, say: Say): void {
  say(
    "push",
    `${newtons(press.force_N)} for ${seconds(press.time_s)} in ${press.step}; contact after ${millimetres(press.expect_m)} (${seconds(press.contact_s)}), not seated after ${millimetres(press.travel_m)}; ${seconds(press.longest_s)} at the longest`,
  );
  const limits = [
    press.armLimit_N === null
      ? "arm not known"
      : `arm ${newtons(press.armLimit_N)}${press.armJoint === null ? "" : ` (${press.armJoint})`}`,
    press.slip_N === null ? undefined : `slips in the jaws at ${newtons(press.slip_N)}`,
    press.pushLimit_N === null ? "stop and jaws not stated" : `stop and jaws ${newtons(press.pushLimit_N)}`,
  ].filter((text) => text !== undefined);
  say("limits", limits.join(", "));
  if (press.tilt_rad !== null)
    say("axis", `push ${degrees(press.tilt_rad)} off the way in, its line ${fine(press.offset_m!)} beside the axis`);
  if (press.jamming !== null)
    say("jamming", `${percent(press.jamming)} of what still slides, by ${press.jammingBy}, at the worst deviations`);
}

function fitLines(fit: FitReport, say: Say): void {
  say(
    "fit",
    `${fine(fit.part_m)} into ${fine(fit.bore_m)}, clearance ratio ${fit.clearanceRatio.toPrecision(3)}; caught: ${fine(fit.lateral_m)} off, ${degrees(fit.tilt_rad)} tilted`,
  );
  if (fit.wedgingTilt_rad !== null)
    say(
      "wedging",
      `possible beyond ${degrees(fit.wedgingTilt_rad)} in the first ${fine(fit.wedgingDepth_m!)}${fit.twoPointTilt_rad === null ? "" : `; at its depth it touches on both sides beyond ${degrees(fit.twoPointTilt_rad)}`}`,
    );
  for (const d of fit.deviations)
    say(
      d === fit.deviations[0] ? "deviations" : "",
      `${d.name} ± ${fine(d.within_m)}${d.tilt_rad > 0 ? `, ± ${degrees(d.tilt_rad)}` : ""}, ${d.distribution}: ${percent(d.share)} of the spread`,
    );
  const caseText = (name: string, c: FitReport["worstCase"]) =>
    `${name} ${fine(c.lateral_m)} and ${degrees(c.tilt_rad)}: ${c.enters ? "enters" : "does not enter"}`;
  say("stack", `${caseText("worst case", fit.worstCase)}; ${caseText("root sum square", fit.rootSumSquare)}`);
  const { trial } = fit;
  say(
    "enters",
    `${(100 * trial.enters).toFixed(4)} % of ${thousands(trial.insertions)} trial insertions (seed ${trial.seed}, ± ${(100 * trial.standardError).toFixed(4)} %), ${(100 * trial.clean).toFixed(2)} % without touching a chamfer${trial.mayWedge === null ? "" : `, ${(100 * trial.mayWedge).toFixed(3)} % beyond the wedging tilt`}`,
  );
}

/** "1,000,000" */
const thousands = (value: number): string => String(value).replaceAll(/\B(?=(\d{3})+$)/g, ",");

/** The same with plain characters only. */
function plain(text: string): string {
  const known: Record<string, string> = {
    "√": "sqrt",
    µ: "mu",
    "²": "^2",
    α: "alpha",
    "°": " deg",
    "±": "+-",
    "·": "*",
  };
  return [...text].map((c) => (c.charCodeAt(0) < 127 ? c : (known[c] ?? "-"))).join("");
}
