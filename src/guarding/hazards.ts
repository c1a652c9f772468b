/**
 * The hazard register of a cell, drawn up from its file: what can hurt whom, by what, in which phase, and what the file shows
 * against it. Structure after ISO 12100:2010 (annex B: groups, origins, consequences); risk parameters proposed with their
 * reason after ISO 13849-1, annex A, and replaced by those of the cell file.
 *
 * A register drawn up from a file knows only what is in the file. It is where a risk assessment begins, not one.
 */
import type { HazardJudgement, PerformanceLevel } from "../cell/guarding.ts";
import type { Cell, Device, Machine, Process } from "../cell/model.ts";
import { type RiskParameters, requiredLevel } from "./performance.ts";

export const REGISTER_EDITION = "ISO 12100:2010";

type Group = "mechanical" | "electrical" | "noise" | "material" | "ergonomic" | "combination";
export type Phase =
  | "setting and teaching"
  | "operation"
  | "loading and unloading"
  | "fault clearing"
  | "cleaning and maintenance";

interface Parameter {
  readonly value: 1 | 2;
  readonly reason: string;
  /** Stated in the cell file, not proposed. */
  readonly stated: boolean;
}

export interface Hazard {
  /** Stable name: "arm-impact", "crush-lathe-door". */
  readonly id: string;
  readonly group: Group;
  readonly origin: string;
  readonly consequence: string;
  readonly phases: readonly Phase[];
  /** Names of people of the file, or who comes there. */
  readonly persons: readonly string[];
  /** What the file shows, and what it states. Not judged. */
  readonly measures: readonly string[];
  /** Undefined: not a hazard that a safety function of the control takes away. */
  readonly risk:
    | { readonly S: Parameter; readonly F: Parameter; readonly P: Parameter; readonly required: PerformanceLevel }
    | undefined;
}

/** What the calculations know of the arm. */
export interface HazardFacts {
  /** Fastest point of the tool in the routine, m/s. */
  readonly topSpeed: number;
  /** Every blow in the routine stays below the limits of the regions stated, which are named. */
  readonly gentle: readonly string[] | undefined;
  /** Narrowest gaps between the arm and what stands around it: "bed and jaw-1, 12 mm". */
  readonly narrow: readonly string[];
}

/** Above once in this time an exposure counts as frequent, s (ISO 13849-1:2015, annex A, recalled). */
const OFTEN = 15 * 60;
/** Reduced speed of ISO 10218-1, at which a person can still get out of the way, m/s. */
const SLOW = 0.25;
/** Force that a clamped hand bears, N (ISO/TS 15066:2016, recalled). */
const HAND_FORCE = 140;
/** Mass that most people lift without harm, kg (ISO 11228-1, recalled). */
const LIFTED = 25;

export function hazardRegister(cell: Cell, facts: HazardFacts): Hazard[] {
  const people = [...(cell.guarding?.people ?? [])];
  const present = people.length > 0 ? people.map(([name]) => name) : ["operators (not stated in the file)"];
  const intervals = people.flatMap(([, { every }]) => every ?? []);
  const exposure: Proposal =
    intervals.length === 0
      ? [2, "how often people come near is not stated"]
      : Math.min(...intervals) < OFTEN
        ? [2, `someone comes every ${minutes(Math.min(...intervals))}, more often than every 15 min`]
        : [1, `someone comes every ${minutes(Math.min(...intervals))}, not more often than every 15 min`];
  const seldom: Proposal = [1, "during setting, fault clearing and maintenance only"];
  const avoidance = (speed: number, what: string): Proposal =>
    speed <= SLOW
      ? [1, `${what} moves at ${(1000 * speed).toFixed(0)} mm/s at most`]
      : [2, `${what} moves at up to ${(1000 * speed).toFixed(0)} mm/s, faster than 250 mm/s`];
  const list: Draft[] = [];

  const guards = guardWords(cell);
  list.push({
    id: "arm-impact",
    group: "mechanical",
    origin: "arm, tool and held part in motion",
    consequence: "blow, thrust, fall",
    phases: ["setting and teaching", "operation", "fault clearing"],
    persons: present,
    measures: guards,
    S:
      facts.gentle === undefined
        ? [2, "the blow is not shown to stay below what the body bears"]
        : [1, `every blow computed stays below the limits for ${facts.gentle.join(", ")}; to be measured`],
    F: exposure,
    P: avoidance(facts.topSpeed, "the tool"),
  });
  list.push({
    id: "arm-crush",
    group: "mechanical",
    origin:
      facts.narrow.length > 0
        ? `arm against what stands around it; narrowest: ${facts.narrow.join("; ")}`
        : "arm against what stands around it",
    consequence: "crushing, shearing",
    phases: ["setting and teaching", "operation", "fault clearing"],
    persons: present,
    measures: guards,
    S: [2, "nothing gives way where the body is held"],
    F: exposure,
    P: avoidance(facts.topSpeed, "the tool"),
  });
  for (const machine of cell.machines.values()) {
    for (const device of machine.devices) {
      const draft = deviceDraft(machine, device, present, exposure);
      if (draft !== undefined) list.push(draft);
    }
    for (const process of machine.processes) list.push(processDraft(process, present, exposure));
  }
  for (const gripper of cell.tool.grippers.values()) {
    list.push({
      id: `crush-${plain(gripper.name)}`,
      group: "mechanical",
      origin: `jaws of ${gripper.name}`,
      consequence: "crushing of fingers",
      phases: ["setting and teaching", "fault clearing"],
      persons: present,
      measures: [],
      S: forceProposal(gripper.force),
      F: seldom,
      P: [2, "jaws close faster than a hand is drawn back"],
    });
    const heaviest = Math.max(
      0,
      ...[...cell.parts.values()].flatMap(({ stages }) => stages.map((s) => s.inertia.mass)),
    );
    list.push({
      id: `drop-${plain(gripper.name)}`,
      group: "mechanical",
      origin: `part in ${gripper.name} falling or thrown when force or friction fails${heaviest > 0 ? `, up to ${heaviest.toFixed(2)} kg` : ""}`,
      consequence: "blow by the part, cuts",
      phases: ["operation", "fault clearing"],
      persons: present,
      measures: gripper.partPresent === undefined ? [] : [`${gripper.partPresent} tells whether a part is held`],
      S: [2, "a part thrown at speed can hurt head and eyes"],
      F: exposure,
      P: [2, "it comes without warning"],
    });
  }
  list.push({
    id: "unexpected-start",
    group: "mechanical",
    origin: "arm or machine starts while someone is inside: restart, stored command, signal fault",
    consequence: "crushing, blow, drawing in",
    phases: ["loading and unloading", "fault clearing", "cleaning and maintenance"],
    persons: present,
    measures: guards,
    S: [2, "what starts is the arm or the machine at full power"],
    F: exposure,
    P: [2, "it comes without warning"],
  });
  list.push({
    id: "teaching",
    group: "mechanical",
    origin: "person beside the arm with the guards open, at reduced speed",
    consequence: "crushing, blow",
    phases: ["setting and teaching"],
    persons: ["setter"],
    measures: [],
    S: [2, "crushing against fixed parts is possible at 250 mm/s too"],
    F: seldom,
    P: [1, "at 250 mm/s at most, with an enabling device in the hand (both to be provided by the arm's controller)"],
  });
  list.push(
    {
      id: "stored-energy",
      group: "combination",
      origin: "arm sinking without brakes, pressure and springs in grippers and clamps after switching off",
      consequence: "crushing, blow",
      phases: ["fault clearing", "cleaning and maintenance"],
      persons: ["setter", "maintainer"],
      measures: [],
    },
    {
      id: "electric-shock",
      group: "electrical",
      origin: "supply and controller cabinets",
      consequence: "shock, burns",
      phases: ["cleaning and maintenance", "fault clearing"],
      persons: ["maintainer"],
      measures: [],
    },
  );
  if (cell.machines.size > 0)
    list.push(
      {
        id: "chips-and-coolant",
        group: "material",
        origin: "sharp edges and chips on parts, coolant and its mist, wet floor",
        consequence: "cuts, skin disease, slipping",
        phases: ["loading and unloading", "cleaning and maintenance"],
        persons: present,
        measures: [],
      },
      {
        id: "noise",
        group: "noise",
        origin: "cutting, air blow, pneumatic exhausts",
        consequence: "loss of hearing",
        phases: ["operation"],
        persons: present,
        measures: [],
      },
    );
  const load = heaviestTray(cell);
  if (load !== undefined)
    list.push({
      id: "lifting-trays",
      group: "ergonomic",
      origin: `${load.name} full of parts weighs ${load.mass.toFixed(1)} kg without itself${load.mass > LIFTED ? `, more than ${LIFTED} kg: not to be lifted as a whole by one person` : ""}`,
      consequence: "strain of the back",
      phases: ["loading and unloading"],
      persons: present,
      measures: [],
    });
  return finished(list, cell.guarding?.hazards ?? new Map());
}

type Proposal = readonly [value: 1 | 2, reason: string];
type Draft = Omit<Hazard, "risk"> & { readonly S?: Proposal; readonly F?: Proposal; readonly P?: Proposal };

function finished(list: readonly Draft[], judged: ReadonlyMap<string, HazardJudgement>): Hazard[] {
  const seen = new Map<string, number>();
  return list.map(({ S, F, P, ...draft }) => {
    const times = (seen.get(draft.id) ?? 0) + 1;
    seen.set(draft.id, times);
    const id = times === 1 ? draft.id : `${draft.id}-${times}`;
    const own = judged.get(id);
    const measures = [...draft.measures, ...(own?.measures ?? [])];
    const parameter = (proposed: Proposal | undefined, stated: 1 | 2 | undefined): Parameter | undefined =>
      stated !== undefined
        ? { value: stated, reason: own?.reason ?? "stated in the cell file, without a reason", stated: true }
        : proposed && { value: proposed[0], reason: proposed[1], stated: false };
    const [s, f, p] = [parameter(S, own?.severity), parameter(F, own?.exposure), parameter(P, own?.avoidance)];
    const risk =
      s === undefined || f === undefined || p === undefined
        ? undefined
        : { S: s, F: f, P: p, required: requiredLevel(valuesOf(s, f, p)) };
    return { ...draft, id, measures, risk };
  });
}

const valuesOf = (s: Parameter, f: Parameter, p: Parameter): RiskParameters => ({
  S: s.value,
  F: f.value,
  P: p.value,
});

function deviceDraft(
  machine: Machine,
  device: Device,
  persons: readonly string[],
  exposure: Proposal,
): Draft | undefined {
  const travel = travelOf(device);
  if (travel === 0 && device.clamps === undefined && device.sweeps.length === 0) return undefined;
  const least = Math.min(...[...device.time.values()].map(({ min }) => min));
  const speed = travel / least;
  const feedback = [...device.feedback].map(([position, signal]) => `${signal} tells that it is ${position}`);
  return {
    id: `crush-${plain(device.name)}`,
    group: "mechanical",
    origin: `${device.name} of ${machine.name} moving${travel > 0 ? ` ${(1000 * travel).toFixed(0)} mm in ${least.toFixed(1)} s or more` : ""}${device.force === undefined ? ", force not stated" : `, ${device.force.toFixed(0)} N`}`,
    consequence: device.clamps === undefined ? "crushing, shearing" : "crushing of hand and fingers",
    phases: ["setting and teaching", "operation", "fault clearing"],
    persons,
    measures: feedback,
    S: forceProposal(device.force),
    F: exposure,
    P:
      travel > 0 && least > 0 && speed <= SLOW
        ? [1, `it moves at ${(1000 * speed).toFixed(0)} mm/s on average at most`]
        : travel > 0 && least > 0
          ? [2, `it moves at ${(1000 * speed).toFixed(0)} mm/s on average`]
          : [2, "how far it moves is not stated, so neither is how fast"],
  };
}

const forceProposal = (force: number | undefined): Proposal =>
  force === undefined
    ? [2, "its force is not stated"]
    : force > HAND_FORCE
      ? [2, `${force.toFixed(0)} N are more than the ${HAND_FORCE} N that a clamped hand bears`]
      : [1, `${force.toFixed(0)} N are not more than the ${HAND_FORCE} N that a clamped hand bears`];

function processDraft(process: Process, persons: readonly string[], exposure: Proposal): Draft {
  return {
    id: `process-${plain(process.name)}`,
    group: "mechanical",
    origin: `${process.name} running${process.spindle ? ": turning spindle, tool and part" : ""}`,
    consequence: process.spindle ? "drawing in, cuts, being hit by thrown parts" : "depends on the process",
    phases: ["setting and teaching", "operation", "fault clearing"],
    persons,
    measures: process.needs.map(({ device, position }) => `does not start unless ${device} is ${position}`),
    S: process.spindle ? [2, "spindle at full power"] : [2, "what the process does is not stated"],
    F: exposure,
    P: [2, "faster than a person can draw back"],
  };
}

/** How far the farthest-moved shape frame of a device goes between two positions, m. */
export function travelOf(device: Device): number {
  const places = [...device.worldFromShapes.values()];
  if (device.shapes.length === 0) return 0;
  let most = 0;
  for (const a of places)
    for (const b of places) most = Math.max(most, Math.hypot(a[3]! - b[3]!, a[7]! - b[7]!, a[11]! - b[11]!));
  return most;
}

function guardWords(cell: Cell): string[] {
  const zones = [...(cell.guarding?.zones ?? [])].map(
    ([name, { by, zone, response }]) =>
      `${name}: ${by} on ${zone}, ${response === "stop" ? "stops the arm" : `reduces it to ${(1000 * response).toFixed(0)} mm/s`}`,
  );
  const fence = cell.scene.shapes.filter(({ name }) => /^fence-\d+$/.test(name)).length;
  return [...zones, ...(fence > 0 ? [`fence of ${fence} panels`] : [])];
}

function heaviestTray(cell: Cell): { name: string; mass: number } | undefined {
  let most: { name: string; mass: number } | undefined;
  for (const holder of cell.holders.values()) {
    if (holder.kind !== "tray") continue;
    const parts = holder.accepts.length > 0 ? holder.accepts : [...cell.parts.keys()];
    const heaviest = Math.max(
      0,
      ...parts.flatMap((part) => cell.parts.get(part)?.stages.map((stage) => stage.inertia.mass) ?? []),
    );
    const mass = heaviest * holder.places.length;
    if (mass > 0 && (most === undefined || mass > most.mass)) most = { name: holder.name, mass };
  }
  return most;
}

const minutes = (seconds: number): string =>
  seconds < 120 ? `${seconds.toFixed(0)} s` : `${(seconds / 60).toFixed(0)} min`;
const plain = (name: string): string => name.replaceAll(".", "-");
