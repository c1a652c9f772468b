/**
 * Ways of people to the arm: from each person's place straight to every point of the arm's centre line, seen from above. The first
 * guarded zone on the way tells where the person is detected; a fence panel on the way bars it. Machines, tables and walls are not
 * taken for guards.
 */
import type { Cell, GuardedZone } from "../../cell/index.ts";
import {
  entryShare,
  type Outline,
  outlineOf,
  type Point2,
  type ProtectiveDevice,
  separationDistance,
} from "../../guarding/index.ts";
import type { Sample } from "./motion-survey.ts";
import type { ApproachReport, ZoneReport } from "./report.ts";

/** How the arm stops at a sample: time from the detection and way of the tool; undefined: not known. */
export type TotalStop = (sample: Sample) => { readonly time: number; readonly distance: number } | undefined;

interface Barrier {
  readonly zone: string | undefined;
  readonly name: string;
  readonly outline: Outline;
}

export interface Approach extends ApproachReport {
  /** Every way is barred, or leads through a zone that stops the arm in time. */
  readonly stopped: boolean;
  /** Largest tool speed while someone is in the zones passed, where every way leads through one that reduces it; else undefined. */
  readonly reducedTo: number | undefined;
}

/** One entry for each person whose place is stated. */
export function surveyApproaches(cell: Cell, samples: readonly Sample[], totalStop: TotalStop): Approach[] {
  const barriers = barriersOf(cell);
  return [...(cell.guarding?.people ?? [])].flatMap(([person, { place }]) => {
    const pose = place === undefined ? undefined : cell.scene.operatorPlaces?.get(place);
    if (place === undefined || pose === undefined) return [];
    return [approachOf(cell, person, place, [pose[3]!, pose[7]!], barriers, samples, totalStop)];
  });
}

function barriersOf(cell: Cell): Barrier[] {
  const barriers: Barrier[] = [];
  for (const shape of cell.scene.shapes) {
    const outline = /^fence-\d+$/.test(shape.name) ? outlineOf(shape) : undefined;
    if (outline !== undefined) barriers.push({ zone: undefined, name: shape.name, outline });
  }
  for (const [name, { zone }] of cell.guarding?.zones ?? [])
    for (const shape of cell.scene.zones.get(zone)?.shapes ?? []) {
      const outline = outlineOf(shape);
      if (outline !== undefined) barriers.push({ zone: name, name, outline });
    }
  return barriers;
}

function approachOf(
  cell: Cell,
  person: string,
  place: string,
  from: Point2,
  barriers: readonly Barrier[],
  samples: readonly Sample[],
  totalStop: TotalStop,
): Approach {
  let fenced = 0,
    watched = 0,
    open = 0,
    stopped = true;
  let reducedTo: number | undefined = 0;
  let nearestOpen: ApproachReport["nearestOpen"] = null;
  let nearestFenced: ApproachReport["nearestFenced"] = null;
  const worst = new Map<string, ZoneReport>();
  for (const sample of samples)
    for (const to of sample.points) {
      const way = Math.hypot(to[0] - from[0], to[1] - from[1]);
      let first: Barrier | undefined;
      let at = Number.POSITIVE_INFINITY;
      for (const barrier of barriers) {
        const share = entryShare(from, to, barrier.outline);
        if (share !== undefined && share < at) {
          at = share;
          first = barrier;
        }
      }
      if (first === undefined) {
        open++;
        stopped = false;
        reducedTo = undefined;
        if (nearestOpen === null || way < nearestOpen.distance_m)
          nearestOpen = { step: sample.step.id, distance_m: way };
      } else if (first.zone === undefined) {
        fenced++;
        const rest = way * (1 - at);
        if (nearestFenced === null || rest < nearestFenced.distance_m)
          nearestFenced = { panel: first.name, step: sample.step.id, distance_m: rest };
      } else {
        watched++;
        const guarded = cell.guarding!.zones.get(first.zone)!;
        const report = zoneReport(first.zone, guarded, sample, way * (1 - at), totalStop);
        if (guarded.response === "stop") reducedTo = undefined;
        else if (reducedTo !== undefined) reducedTo = Math.max(reducedTo, guarded.response);
        if (guarded.response !== "stop" || report.missing_m === null || report.missing_m > 0) stopped = false;
        const known = worst.get(first.zone);
        if (known === undefined || badness(report) > badness(known)) worst.set(first.zone, report);
      }
    }
  const all = Math.max(1, fenced + watched + open);
  return {
    person,
    place,
    fenced: fenced / all,
    watched: watched / all,
    open: open / all,
    nearestOpen,
    nearestFenced,
    zones: [...worst.values()],
    stopped: samples.length > 0 && stopped,
    reducedTo: watched > 0 ? reducedTo : undefined,
  };
}

/** What cannot be told is worse than anything missing. */
const badness = ({ missing_m }: ZoneReport): number => missing_m ?? Number.POSITIVE_INFINITY;

function zoneReport(
  zone: string,
  guarded: GuardedZone,
  sample: Sample,
  placed: number,
  totalStop: TotalStop,
): ZoneReport {
  const common = { zone, by: guarded.by, response: guarded.response, placed_m: placed, step: sample.step.id };
  const unknown = (reason: string): ZoneReport => ({
    ...common,
    needed_m: null,
    reason,
    separation_m: null,
    overtravel_m: null,
    missing_m: null,
    time_s: null,
  });
  if (guarded.response !== "stop")
    return unknown("it reduces the speed and does not stop the arm: contact at that speed has to be borne");
  const device = deviceOf(guarded);
  if (typeof device === "string") return unknown(device);
  const stop = totalStop(sample);
  if (stop === undefined) return unknown("the reaction time, or how the arm stops, is not stated");
  const separation = separationDistance(device, stop.time);
  if (!separation.ok) return unknown(separation.reason);
  const needed = separation.distance + stop.distance;
  return {
    ...common,
    needed_m: needed,
    reason: separation.rule,
    separation_m: separation.distance,
    overtravel_m: stop.distance,
    missing_m: needed - placed,
    time_s: stop.time,
  };
}

/** The device as the standard sees it, or what is not stated. */
function deviceOf({ by, resolution, height, field }: GuardedZone): ProtectiveDevice | string {
  const alongTheFloor = (): ProtectiveDevice | string =>
    height === undefined
      ? "the height of its field above the floor is not stated"
      : { kind: "field", height, ...(typeof resolution === "number" ? { resolution } : {}) };
  switch (by) {
    case "scanner":
      return alongTheFloor();
    case "light curtain":
      if (field === "horizontal") return alongTheFloor();
      if (resolution === undefined) return "its resolution is not stated";
      return resolution === "single beams" ? { kind: "beams" } : { kind: "curtain", resolution };
    case "gate":
      return { kind: "gate" };
    case "two-hand control":
      return { kind: "two hands", shrouded: false };
    case "mat":
      return { kind: "mat", height: height ?? 0 };
  }
}
