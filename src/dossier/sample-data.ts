/** A made-up check for the tests of this floor: one pass of a lathe cell, three findings, two joints moving on cosines. */
import type { CheckReport, CycleReport, StepRow } from "../check/result.ts";
import type { CheckPageData, PageActivity, PageChart, PageJoint, PageSeries } from "./page-data.ts";
import { SAMPLE_CLEARANCE, SAMPLE_PICTURES } from "./sample-clearance.ts";

const step = (id: string, kind: string, what: string, mean: number, slack: number, limitedBy = ""): StepRow => ({
  id,
  kind,
  what,
  count: 24,
  mean_s: mean,
  min_s: mean * 0.98,
  max_s: mean * 1.03,
  limitedBy,
  slack_s: slack,
});

const cycle: Omit<CycleReport, "variants"> = {
  variant: "shaft",
  period_s: 20,
  robot_s: 9.5,
  machine_s: 12,
  spindleIdle_s: 8,
  partsPerHour: 180,
  fastest_s: 19.2,
  slowest_s: 22.7,
  steps: [
    step("main[0].do[0]", "go", "to lathe-front by joint motion", 2, 0, "J2 acceleration 54 %"),
    step("main[0].do[1]", "await", "lathe.door open", 1, 0),
    step("main[0].do[2]", "go", "into lathe.chuck by line", 1.5, 0, "tool speed 71 %"),
    step("main[0].do[3]", "hold", "finished part from lathe.chuck", 0.5, 0),
    step("main[0].do[4]", "go", "to finished-tray by joint motion", 2.5, 6.5, "J4 velocity 38 %"),
  ],
};

export const SAMPLE_REPORT: CheckReport = {
  schemaVersion: 1,
  cell: "Lathe cell with raw tray",
  verdict: "not feasible",
  findings: [
    {
      code: "out-of-reach",
      severity: "error",
      where: "routines.load[3]",
      file: "lathe.yaml",
      line: 214,
      column: 7,
      message: "raw-tray, place 24 is 38.2 mm beyond the reach of the arm.",
      mend: "Move the frame raw-tray at least 45 mm towards the arm, or start the pattern at the near corner.",
    },
    {
      code: "payload-near-limit",
      severity: "warning",
      where: "tool.gripper",
      file: "lathe.yaml",
      line: 88,
      column: 5,
      message: "The load of 6.71 kg is 96 % of the rated 7.00 kg.",
      mend: "Take a lighter gripper, or lower the acceleration while a raw part is held.",
    },
    {
      code: "dwell-instead-of-feedback",
      severity: "caution",
      where: "routines.load[5]",
      file: "lathe.yaml",
      line: 230,
      column: 9,
      message: "The gripper has no sensor: a part that was not taken is noticed only at the chuck.",
      mend: "Add a part-present input, or show in the risk assessment what a missing part does.",
    },
  ],
  cycle: { ...cycle, variants: [cycle, { ...cycle, variant: "flange", period_s: 31.5, partsPerHour: 114.3 }] },
  clearance: SAMPLE_CLEARANCE,
  proof: null,
  joints: Array.from({ length: 6 }, (_, i) => ({ name: `J${i + 1}`, kind: "revolute" as const })),
  reach: [
    {
      target: "home",
      reachable: true,
      branches: 8,
      miss_m: 0,
      jointMargin_rad: 0.9,
      nearestJoint: "J3",
      singularity: null,
    },
    {
      target: "lathe.chuck",
      reachable: true,
      branches: 4,
      miss_m: 0,
      jointMargin_rad: 0.15,
      nearestJoint: "J5",
      singularity: "wrist",
    },
    {
      target: "raw-tray, place 24",
      reachable: false,
      branches: 0,
      miss_m: 0.0382,
      jointMargin_rad: 0,
      nearestJoint: null,
      singularity: null,
    },
  ],
  grip: [
    {
      gripper: "two-jaw",
      part: "shaft",
      grip: "outside",
      needed_N: 61.2,
      available_N: 140,
      acceleration_mps2: 8.4,
      cautions: [],
      sizing: {
        method: "two jaws, friction",
        formula: "F = S max(√(fy² + fz²) / (2 µ), |fx| / 2)",
        safetyFactor: 2,
        safetyFactorFrom: "default",
        stages: [],
        motion: {
          step: "load[2]",
          time_s: 0.42,
          variant: "shaft",
          needed_N: 61.2,
          load_N: [1.2, 0.4, 9.1],
          acceleration_mps2: 8.4,
          stage: "raw",
          decides: "friction",
        },
        stop: null,
        margin: 2.29,
        worst: "motion",
        jawMoment: {
          step: "load[2]",
          time_s: 0.42,
          variant: "shaft",
          value_Nm: 0.12,
          rated_Nm: null,
          turning_Nm: 0.2,
          lever_m: 0.02,
          leverFrom: "tool centre point",
        },
        opening: null,
      },
    },
  ],
  payload: {
    mass_kg: 6.71,
    rated_kg: 7,
    distance_m: 0.112,
    torqueShare: [0.31, 0.82, 0.64, 0.22, 0.18, 0.05],
    loads: [],
  },
  seating: [],
  signals: {
    ports: [
      {
        name: "controller",
        digitalInputs: [9, 16],
        digitalOutputs: [7, 16],
        analogueInputs: [0, 2],
        analogueOutputs: [0, 2],
      },
    ],
    points: [{ signal: "door-open", terminal: "X1:17", port: "controller", point: 0, how: "pinned" }],
    stationsNeeded: 0,
  },
  guarding: null,
  production: null,
};

/** One pass of 20 s. The machine cuts from 8 to 20, the arm unloads and loads from 0 to 8 and then fetches a raw part. */
function passActivities(from: number): PageActivity[] {
  const at = (
    lane: string,
    kind: PageActivity["kind"],
    label: string,
    start: number,
    end: number,
    slack: number,
  ): PageActivity => ({ lane, kind, label, start: from + start, end: from + end, slack, critical: slack === 0 });
  return [
    at("arm", "drive", "main[0].do[0]", 0, 0, 0),
    at("lathe.door", "device", "to open", 0, 1.5, 0),
    at("arm", "wait", "main[0].do[1]", 0, 1.5, 0),
    at("arm", "motion", "main[0].do[2]", 1.5, 3, 0),
    at("arm", "hold", "main[0].do[3]", 3, 3.5, 0),
    at("lathe.chuck", "device", "to open", 3.5, 4.2, 0),
    at("arm", "dwell", "main[0].do[4]", 3.5, 4.2, 0),
    at("arm", "motion", "main[0].do[5]", 4.2, 6.5, 0),
    at("lathe.door", "device", "to closed", 6.5, 8, 0),
    at("lathe.turning", "process", "runs", 8, 20, 0),
    at("arm", "motion", "main[0].do[6]", 6.5, 9, 6.5),
    at("arm", "free", "main[0].do[7]", 9, 9.5, 6.5),
    at("arm", "motion", "main[0].do[8]", 9.5, 13.5, 6.5),
    at("arm", "wait", "main[0].do[9]", 13.5, 20, 6.5),
  ];
}

const PASSES = 6;

export const SAMPLE_CHART: PageChart = {
  variant: "shaft",
  activities: Array.from({ length: PASSES }, (_, pass) => passActivities(20 * pass)).flat(),
  duration: 20 * PASSES,
  pass: { number: 3, of: PASSES, from: 40, to: 60 },
};

const joint = (name: string, min: number, max: number): PageJoint => ({
  name,
  kind: "revolute",
  min,
  max,
  velocity: 2.4,
  acceleration: 5,
});

export const SAMPLE_JOINTS: readonly PageJoint[] = [
  joint("base", -2 * Math.PI, 2 * Math.PI),
  joint("shoulder", -1.2, 1.2),
  joint("elbow", -2.5, 2.5),
  joint("wrist-1", -Math.PI, Math.PI),
  joint("wrist-2", -2, 2),
  { name: "slide", kind: "prismatic", min: 0, max: 0.4, velocity: 0.5, acceleration: 2 },
];

/** q = a(1 − cos ωt) with each joint's own a and ω, from 40 s to 60 s in steps of 0.02 s. */
function sampleSeries(): PageSeries {
  const n = SAMPLE_JOINTS.length;
  const count = 1001;
  const series = {
    time: new Float64Array(count),
    q: new Float64Array(n * count),
    qd: new Float64Array(n * count),
    qdd: new Float64Array(n * count),
  };
  for (let k = 0; k < count; k++) {
    const t = k * 0.02;
    series.time[k] = 40 + t;
    for (let i = 0; i < n; i++) {
      const a = i === 5 ? 0.1 : 0.2 + 0.1 * i;
      const w = ((i + 1) * Math.PI) / 10;
      series.q[n * k + i] = a * (1 - Math.cos(w * t));
      series.qd[n * k + i] = a * w * Math.sin(w * t);
      series.qdd[n * k + i] = a * w * w * Math.cos(w * t);
    }
  }
  return series;
}

/** Everything that a page needs, with the plotting library left to the caller. */
export function samplePage(plotScript: string, plotStyle: string): CheckPageData {
  return {
    report: SAMPLE_REPORT,
    pictures: SAMPLE_PICTURES,
    arm: "seven-kilogram arm with offset wrist",
    joints: SAMPLE_JOINTS,
    chart: SAMPLE_CHART,
    series: sampleSeries(),
    version: "0.0.0",
    date: "2026-01-31",
    file: "lathe.yaml",
    plotScript,
    plotStyle,
  };
}
