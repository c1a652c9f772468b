/** Everything that guarding computes over a cell's runs: stops, approaches, contact, monitoring, gaps, hazards, functions, costs. */

import type { Arm } from "../../arm/index.ts";
import { machineDevices } from "../../cell/equipment.ts";
import type { BodyRegionName, Cell } from "../../cell/index.ts";
import type { CycleRun, Mover } from "../../cycle/index.ts";
import {
  blowLimit,
  bodyRegions,
  COLLABORATION_EDITION,
  clampLimit,
  crushedIn,
  GAP_EDITION,
  hazardRegister,
  judgeFunction,
  monitoredSeparation,
  PERFORMANCE_EDITION,
  REGISTER_EDITION,
  SEPARATION_EDITION,
  speedForSeparation,
  travelOf,
} from "../../guarding/index.ts";
import { toMm } from "../../math/units.ts";
import type { MotionFailure } from "../../motion/index.ts";
import { PERSON } from "../clearance/elements.ts";
import type { Survey } from "../clearance/survey.ts";
import { stepWords } from "../step-words.ts";
import { type Approach, surveyApproaches } from "./approach.ts";
import { costOf } from "./cost.ts";
import { type MotionSurvey, type Sample, type StepMotion, surveyMotions } from "./motion-survey.ts";
import {
  type ContactReport,
  type CostReport,
  type GapReport,
  GUARD_CAUTION,
  type GuardReport,
  type MonitoringReport,
  type RegionReport,
  type StoppingReport,
} from "./report.ts";

/** Reduced speed for teaching with people inside, m/s (ISO 10218-1). */
const TEACHING_SPEED = 0.25;
/** Arm and surroundings nearer than this are told one by one in the register. */
const TOLD_PAIRS = 3;

export interface GuardResult {
  readonly report: GuardReport;
  readonly approaches: readonly Approach[];
  readonly motions: MotionSurvey;
}

/**
 * @param runs nominal runs, one per part variant
 * @param freshMover makes a mover for the costs of lower speeds; undefined: they are not computed
 */
export function guardRuns(
  cell: Cell,
  arm: Arm,
  runs: readonly CycleRun<MotionFailure>[],
  clearance: Survey,
  freshMover?: () => Mover<MotionFailure>,
): GuardResult {
  const people = [...(cell.guarding?.people ?? [])];
  const regions = [...new Set(people.flatMap(([, { body }]) => body))];
  const motions = surveyMotions(cell, arm, runs, regions);
  const unknown: string[] = [];
  const stopping = stoppingReport(cell, arm, motions);
  const approaches = surveyApproaches(cell, motions.samples, (sample) => totalStop(cell, sample));
  const contact = contactReport(cell, motions, regions, runs[0]?.variant ?? "");
  const fencedOff = new Set(approaches.filter(({ fenced }) => fenced === 1).map(({ person }) => person));
  const monitoring = monitoringReports(cell, motions, fencedOff);
  const gaps = gapReports(cell, clearance);
  const narrow = gaps.filter(({ step }) => step !== null).slice(0, TOLD_PAIRS);
  const gentle =
    regions.length > 0 &&
    !regions.some((name) => bodyRegions.get(name)!.transientFactor === undefined) &&
    contact.steps.length > 0 &&
    contact.steps.every(({ ratio }) => ratio !== null && ratio <= 1)
      ? regions
      : undefined;
  const hazards = hazardRegister(cell, {
    topSpeed: motions.topSpeed,
    gentle,
    narrow: narrow.map(({ what, gap_m }) => `${what}, ${toMm(gap_m!).toFixed(0)} mm`),
  });
  const levels = new Map(hazards.flatMap(({ id, risk }) => (risk === undefined ? [] : [[id, risk.required] as const])));
  const functions = [...(cell.guarding?.safetyFunctions ?? [])].map(([name, stated]) =>
    judgeFunction(name, stated, cell.production, levels),
  );
  if (cell.guarding === undefined)
    unknown.push("people, zones and stopping (guarding): separation, contact and achieved levels cannot be told");
  if (cell.guarding !== undefined && stopping.reaction_s === null)
    unknown.push("the reaction time (guarding.stopping): no separation distance can be told");
  if (stopping.statedTime_s === null)
    unknown.push(
      stopping.computed === null
        ? "the stopping time, stated or by the joints' limits: no separation distance can be told"
        : "the measured stopping time and distance: those computed from the joints' limits are what the arm can do at best",
    );
  if (motions.movingMass === undefined) unknown.push("the masses of the arm's links: contact forces cannot be told");
  else if (motions.heaviestLoad === undefined) unknown.push("the mass of the tool: contact forces cannot be told");
  if (contact.steps.length > 0 && (cell.guarding?.contactSurfaces.size ?? 0) === 0)
    unknown.push("the contact surfaces of the tool: pressure cannot be told, only force");
  for (const [name, { zone }] of cell.guarding?.zones ?? [])
    if (cell.scene.zones.get(zone)?.shapes.some(({ shape }) => shape.kind === "mesh"))
      unknown.push(`the outline of ${zone}, which is a mesh: ways through ${name} cannot be told`);
  if (clearance.compared)
    unknown.push(
      "gaps wider than 100 mm, and all but the narrowest of each step: in up to 500 mm a body can be crushed (ISO 13854)",
    );
  const costs = freshMover === undefined ? null : costReports(cell, runs, motions, approaches, freshMover);
  return {
    approaches,
    motions,
    report: {
      caution: GUARD_CAUTION,
      editions: [
        SEPARATION_EDITION,
        COLLABORATION_EDITION,
        "ISO 10218-1:2011",
        GAP_EDITION,
        REGISTER_EDITION,
        PERFORMANCE_EDITION,
      ],
      unknown,
      stopping,
      approaches: approaches.map(({ stopped: _, reducedTo: __, ...rest }) => rest),
      contact,
      monitoring,
      gaps,
      hazards,
      functions,
      costs,
    },
  };
}

/** The larger of what is stated and what the joints' limits give governs. */
function totalStop(cell: Cell, { stop }: Sample): { time: number; distance: number } | undefined {
  const stated = cell.guarding?.stopping;
  if (stated?.reactionTime === undefined) return undefined;
  const time = larger(stated.stoppingTime, stop.time);
  const distance = larger(stated.stoppingDistance, stop.distance);
  return time === undefined || distance === undefined ? undefined : { time: stated.reactionTime + time, distance };
}

/** Undefined when nothing is known: none stated, and no limit of a moving joint. */
function larger(stated: number | undefined, computed: number): number | undefined {
  if (computed === Number.POSITIVE_INFINITY) return stated;
  return Math.max(stated ?? 0, computed);
}

function stoppingReport(cell: Cell, arm: Arm, { steps }: MotionSurvey): StoppingReport {
  let worst: StepMotion | undefined;
  for (const entry of steps.values()) if (worst === undefined || entry.stop.time > worst.stop.time) worst = entry;
  const stated = cell.guarding?.stopping;
  return {
    reaction_s: stated?.reactionTime ?? null,
    statedTime_s: stated?.stoppingTime ?? null,
    statedDistance_m: stated?.stoppingDistance ?? null,
    computed:
      worst === undefined || worst.stop.joint < 0 || worst.stop.time === Number.POSITIVE_INFINITY
        ? null
        : {
            step: worst.step.id,
            time_s: worst.stop.time,
            distance_m: Math.max(...[...steps.values()].map(({ stop }) => stop.distance)),
            joint: arm.jointNames[worst.stop.joint]!,
          },
  };
}

function contactReport(
  cell: Cell,
  { steps, movingMass, heaviestLoad, heaviestEffective }: MotionSurvey,
  stated: readonly BodyRegionName[],
  variant: string,
): ContactReport {
  const area = Math.min(...[...(cell.guarding?.contactSurfaces.values() ?? [])].map((surface) => surface.area));
  const smallest = area === Number.POSITIVE_INFINITY ? undefined : area;
  const regions: RegionReport[] =
    heaviestEffective === 0
      ? []
      : [...bodyRegions.values()].map((region) => {
          const blow = blowLimit(region, heaviestEffective, smallest);
          return {
            region: region.name,
            stated: stated.includes(region.name),
            blow_mps: blow.governs === "not permitted" ? null : blow.speed,
            clamped_mps: clampLimit(region, heaviestEffective, smallest).speed,
            governs: blow.governs,
          };
        });
  return {
    movingMass_kg: movingMass ?? null,
    heaviestLoad_kg: heaviestLoad ?? null,
    regions,
    steps: [...steps.values()]
      .filter(({ effectiveMax }) => effectiveMax > 0)
      .map((entry) => ({
        step: entry.step.id,
        what: stepWords(entry.step, variant),
        peak_mps: entry.peak,
        effectiveMin_kg: entry.effectiveMin,
        effectiveMax_kg: entry.effectiveMax,
        simplified_kg: entry.simplified,
        allowed_mps: entry.region === undefined ? null : entry.allowed,
        region: entry.region ?? null,
        surface: entry.surface ?? null,
        governs: entry.governs ?? null,
        ratio: entry.region === undefined ? null : entry.ratio,
      })),
  };
}

/** Speed and separation for each person with a place that is not fenced off: the worst moment of each step. Missing terms count as nothing: "at least". */
function monitoringReports(cell: Cell, { samples }: MotionSurvey, fencedOff: ReadonlySet<string>): MonitoringReport[] {
  const terms = cell.guarding?.monitoring;
  const stated = cell.guarding?.stopping;
  if (terms === undefined || stated?.reactionTime === undefined) return [];
  const missing = [
    ...(terms.intrusion === undefined ? ["intrusion"] : []),
    ...(terms.sensorUncertainty === undefined ? ["sensor uncertainty"] : []),
    ...(terms.armUncertainty === undefined ? ["arm uncertainty"] : []),
  ];
  const reports: MonitoringReport[] = [];
  for (const [person, { place, approachSpeed }] of cell.guarding?.people ?? []) {
    const pose = place === undefined ? undefined : cell.scene.operatorPlaces?.get(place);
    if (pose === undefined || fencedOff.has(person)) continue;
    const worst = new Map<string, MonitoringReport>();
    for (const sample of samples) {
      const time = larger(stated.stoppingTime, sample.stop.time);
      const way = larger(stated.stoppingDistance, sample.stop.distance);
      if (time === undefined || way === undefined) continue;
      const common = {
        personSpeed: approachSpeed,
        reactionTime: stated.reactionTime,
        intrusion: terms.intrusion ?? 0,
        sensorUncertainty: terms.sensorUncertainty ?? 0,
        armUncertainty: terms.armUncertainty ?? 0,
      };
      const needed = monitoredSeparation({
        ...common,
        armSpeed: sample.speed,
        stoppingTime: time,
        stoppingDistance: way,
      });
      const distance = Math.max(0, distanceToLine([pose[3]!, pose[7]!], sample.points) - PERSON.radius);
      const known = worst.get(sample.step.id);
      if (known !== undefined && known.needed_m - known.distance_m >= needed - distance) continue;
      // Slower, the joints brake in proportion; what is stated is taken as it is.
      const allowed = speedForSeparation(
        distance,
        common,
        (speed) => {
          const share = sample.speed > 0 ? speed / sample.speed : 0;
          return {
            time: Math.max(stated.stoppingTime ?? 0, finite(sample.stop.time) * share),
            distance: Math.max(stated.stoppingDistance ?? 0, finite(sample.stop.distance) * share * share),
          };
        },
        sample.speed,
      );
      worst.set(sample.step.id, {
        person,
        step: sample.step.id,
        needed_m: needed,
        distance_m: distance,
        allowed_mps: allowed,
        missing,
      });
    }
    reports.push(...worst.values());
  }
  return reports;
}

const finite = (value: number): number => (Number.isFinite(value) ? value : 0);

/** From a point to a chain of stretches. */
function distanceToLine([x, y]: readonly [number, number], points: Sample["points"]): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < points.length; i++) {
    const [ax, ay] = points[i]!;
    const [bx, by] = points[Math.min(i + 1, points.length - 1)]!;
    const [dx, dy] = [bx - ax, by - ay];
    const square = dx * dx + dy * dy;
    const t = square === 0 ? 0 : Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / square));
    least = Math.min(least, Math.hypot(x - ax - t * dx, y - ay - t * dy));
  }
  return least;
}

/** Arm against surroundings, narrowest first, then devices that close and jaws. */
function gapReports(cell: Cell, clearance: Survey): GapReport[] {
  const pairs = new Map<string, GapReport>();
  for (const { step, nearest } of clearance.steps) {
    if (nearest === undefined || nearest.pair[1].group === "person") continue;
    const what = `${nearest.pair[0].about} and ${nearest.pair[1].about}`;
    const gap = Math.max(0, nearest.upper);
    const crushed = crushedIn(gap);
    const known = pairs.get(what);
    if (crushed.length > 0 && (known === undefined || gap < known.gap_m!))
      pairs.set(what, { what, step: step.id, gap_m: gap, crushed });
  }
  const closing = machineDevices(cell)
    .filter((device) => device.clamps !== undefined || travelOf(device) > 0)
    .map((device): GapReport => ({ what: device.name, step: null, gap_m: null, crushed: crushedIn(0) }));
  const jaws = [...cell.tool.grippers.values()].map(({ name, opening, stroke }): GapReport => {
    // Between open jaws nothing thicker than their opening comes in.
    const open = opening ?? stroke;
    return {
      what: `jaws of ${name}`,
      step: null,
      gap_m: null,
      crushed:
        open === undefined
          ? crushedIn(0)
          : crushedIn(0).filter((part) => part === "finger" || !crushedIn(open).includes(part)),
    };
  });
  return [...[...pairs.values()].sort((a, b) => a.gap_m! - b.gap_m!), ...closing, ...jaws];
}

function costReports(
  cell: Cell,
  runs: readonly CycleRun<MotionFailure>[],
  { steps }: MotionSurvey,
  approaches: readonly Approach[],
  freshMover: () => Mover<MotionFailure>,
): CostReport[] {
  const limited = [...steps.values()].some(({ cap }) => cap < Number.POSITIVE_INFINITY);
  const reduced = Math.min(...approaches.map(({ reducedTo }) => reducedTo ?? Number.POSITIVE_INFINITY));
  const all: CostReport[] = [];
  const add = (what: string, cap: (id: string) => number) => {
    const mover = freshMover();
    for (const run of runs) all.push(costOf(cell, what, run, mover, ({ id }) => cap(id)));
  };
  if (limited)
    add("contact: every blow within the limits of the regions stated", (id) =>
      Math.max(LEAST_CAP, steps.get(id)?.cap ?? Number.POSITIVE_INFINITY),
    );
  if (reduced < Number.POSITIVE_INFINITY) add("someone in a zone that reduces the speed, all the time", () => reduced);
  add("teaching: 250 mm/s at most", () => TEACHING_SPEED);
  return all;
}

/** Slower than this nothing is planned, m/s. */
const LEAST_CAP = 0.001;
