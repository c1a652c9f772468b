/** Straight ways into and out of the places where the routine closes and opens grippers, worded as offsets of the cell file. */
import type { Arm } from "../../arm/model.ts";
import type { Cell } from "../../cell/model.ts";
import type { FreeStep, HoldStep } from "../../cell/steps.ts";
import { type CycleRun, type JawRecord, whereaboutsOf } from "../../cycle/index.ts";
import { compose, invert } from "../../math/pose.ts";
import { type Metres, toMm } from "../../math/units.ts";
import type { MotionFailure } from "../../motion/index.ts";
import { type Retreat, type RetreatOutcome, suggestRetreats } from "../../route/index.ts";
import type { Element } from "../clearance/elements.ts";
import { type Contact, MeantContacts } from "../clearance/meant-contacts.ts";
import type { ClearanceMemory } from "../clearance/memory.ts";
import type { Moment, SceneBuilder } from "../clearance/moving-scene.ts";
import { activeTcp } from "../load.ts";
import { placeLabel } from "../targets.ts";
import { momentScene, OVER } from "./scene.ts";

/** Longest way, m. */
const LONGEST = 1;
/** Least distance at the outer end from what the tool was drawn out of, m. */
const FREE = 0.02;
/** Directions tried besides the axes of the place. */
const SAMPLES = 24;

/** A motion into or out of a place, as the routine makes it. */
export interface PlaceVisit {
  readonly step: HoldStep | FreeStep;
  readonly way: "approach" | "retreat";
  /** Index of its move in the run. */
  readonly move: number;
  readonly variant: string;
  readonly holder: string;
  readonly place: number;
  readonly gripper: string;
  /** Joint values at the place. */
  readonly q: Float64Array;
  readonly moment: Moment;
  readonly contacts: readonly Contact[];
}

/** A straight way, tool keeping its orientation. */
export interface PlaceRetreat {
  readonly retreat: Retreat;
  /** The way from the place, in its own axes, m. */
  readonly offset: readonly [number, number, number];
}

export interface PlaceRetreats {
  /** What the tool is clear of at the end: "lathe.chuck", "lathe", "table-top". */
  readonly outOf: string;
  /** Whether a body is one of those. */
  readonly belongs: (element: Element) => boolean;
  /** Distance kept all the way, m. */
  readonly margin: Metres;
  /** Ranked; none with the reason. */
  readonly ways: readonly PlaceRetreat[];
  readonly reason: string | undefined;
}

/** Arrivals at holders and departures from them in a run. @param wanted which of the records of closed and opened grippers */
export function visitsOf(cell: Cell, run: CycleRun<MotionFailure>, wanted: (jaw: JawRecord) => boolean): PlaceVisit[] {
  const contacts = new MeantContacts(cell, run);
  const { moves: whereabouts } = whereaboutsOf(cell, [run]);
  const visits: PlaceVisit[] = [];
  for (const jaw of run.jaws) {
    if (!wanted(jaw)) continue;
    const common = { step: jaw.step, variant: run.variant, holder: jaw.holder, place: jaw.place, q: jaw.q };
    for (const [way, move] of [
      ["approach", jaw.after],
      ["retreat", jaw.after + 1],
    ] as const) {
      const record = run.moves[move];
      const devices = whereabouts[move]?.[way === "approach" ? whereabouts[move].length - 1 : 0];
      if (record === undefined || devices === undefined) continue;
      visits.push({
        ...common,
        way,
        move,
        gripper: jaw.step.gripper,
        moment: { held: record.context.held, resting: record.resting, devices },
        contacts: contacts.of(move, way === "approach" ? record.steps.length - 1 : 0),
      });
    }
  }
  return visits;
}

/**
 * Straight ways for a visit: out of what holds the part there, and out of its whole machine.
 * @param required distance kept all the way, m; where the place itself has less, the ways merely touch nothing
 */
export function retreatsFor(
  cell: Cell,
  arm: Arm,
  builder: SceneBuilder,
  memory: ClearanceMemory,
  visit: PlaceVisit,
  required: Metres,
): PlaceRetreats[] {
  const { q, moment, contacts, gripper } = visit;
  const { scene, pairs, key } = momentScene(arm, builder, memory, moment, contacts);
  const { elements, bodies, slides } = scene;
  const baseFromPlace = compose(invert(cell.worldFromBase), worldFromPlaceOf(cell, visit));
  const axis = (k: number) => [baseFromPlace[k]!, baseFromPlace[4 + k]!, baseFromPlace[8 + k]!] as const;
  const directions = [2, 0, 1].flatMap((k) => {
    const [x, y, z] = axis(k);
    return [[x, y, z] as const, [-x, -y, -z] as const];
  });
  const all: PlaceRetreats[] = [];
  for (const { name, belongs } of surroundings(cell, visit)) {
    const from = [...elements.keys()].filter((i) => elements[i]!.link === undefined && belongs(elements[i]!));
    if (from.length === 0) continue;
    const ask = (margin: number): RetreatOutcome =>
      memory.routes.retreats([key, q.join(), name, margin, required, gripper].join("|"), () =>
        suggestRetreats(
          { arm, bodies, slides, pairs, margin },
          {
            inside: q,
            flangeFromTool: activeTcp(cell, gripper, moment.held),
            from,
            directions,
            samples: SAMPLES,
            free: Math.max(FREE, required + OVER),
            longest: LONGEST,
          },
        ),
      );
    let margin = required;
    let outcome = ask(margin);
    if (!outcome.ok && outcome.reason === "inside not clear" && required > 0) {
      margin = 0;
      outcome = ask(margin);
    }
    all.push({
      outOf: name,
      belongs,
      margin,
      ways: outcome.ok ? outcome.retreats.map((retreat) => ({ retreat, offset: inPlace(retreat, axis) })) : [],
      reason: outcome.ok ? undefined : reasonOf(outcome, elements),
    });
  }
  return all;
}

/** The best way to write down: along one axis of the place where there is one among the ranked, else the first. */
export function simplest(ways: readonly PlaceRetreat[]): PlaceRetreat | undefined {
  return ways.find(({ offset }) => offset.filter((v) => Math.abs(v) > 0.00005).length === 1) ?? ways[0];
}

/** "[0, 0, 140 mm]" */
export const offsetText = (offset: readonly [number, number, number]): string => {
  const [x, y, z] = offset.map((v) => String(Number(toMm(v).toFixed(1)) + 0));
  return `[${x}, ${y}, ${z} mm]`;
};

/** "lathe.chuck", "raw-tray, place 7" */
export const placeWords = (cell: Cell, { holder, place }: PlaceVisit): string =>
  placeLabel(cell.holders.get(holder)!, place);

function worldFromPlaceOf(cell: Cell, { holder, place }: PlaceVisit) {
  return cell.holders.get(holder)!.places[place]!.worldFromPlace;
}

/** What a tool may be drawn out of at a place, smallest first. */
function surroundings(
  cell: Cell,
  { holder }: PlaceVisit,
): readonly { readonly name: string; readonly belongs: (element: Element) => boolean }[] {
  const { device, restsOn = [] } = cell.holders.get(holder)!;
  // Jaws must come free of the parts as well.
  const isPart = ({ rests }: Element) => rests?.holder === holder;
  if (device === undefined) {
    const shapes = new Set(restsOn);
    return [{ name: holder, belongs: (element) => isPart(element) || shapes.has(element.name) }];
  }
  const machine = [...cell.machines.values()].find(({ devices }) => devices.some(({ name }) => name === device))!.name;
  return [
    {
      name: device,
      belongs: (element) => isPart(element) || (element.group === "device" && element.name.startsWith(`${device}.`)),
    },
    {
      name: machine,
      belongs: (element) =>
        isPart(element) ||
        ((element.group === "device" || element.group === "machine") && element.name.startsWith(`${machine}.`)),
    },
  ];
}

/** The way of the tool in the axes of the place. */
function inPlace(
  { direction, stroke }: Retreat,
  axis: (k: number) => readonly [number, number, number],
): [number, number, number] {
  return [0, 1, 2].map((k) => {
    const [x, y, z] = axis(k);
    return stroke * (x * direction[0] + y * direction[1] + z * direction[2]);
  }) as [number, number, number];
}

function reasonOf(outcome: Extract<RetreatOutcome, { ok: false }>, elements: readonly Element[]): string {
  const between = outcome.pair?.map((i) => elements[i]!.name).join(" and ");
  return between === undefined ? outcome.message : `${between}: ${outcome.message}`;
}
