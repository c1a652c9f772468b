/**
 * Ways home for an arm that was stopped in a step: along the interrupted path, back to where it began or on to its end, out of
 * what the arm is in, then straight in joint space to home, by way of a pose of the routine where that is clearer. The path that was
 * interrupted is certified as a whole, so that it does not matter where on it the arm stands; every motion is certified
 * with what the grippers may hold then, with parts and devices where they are then.
 */

import { type Arm, createInverse, nearestSolution } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import { stepsById } from "../../cell/step-walk.ts";
import type { GoStep, PressStep, Step } from "../../cell/steps.ts";
import { type MeshLibrary, standing } from "../../clearance/index.ts";
import { type CycleRun, type MoveRecord, type Situation, stretchKey, whereaboutsOf } from "../../cycle/index.ts";
import { armKeyOf, createPlanner, type Motion, type MotionFailure } from "../../motion/index.ts";
import type { Retreat, RetreatMove, StepRetreats } from "../../proof/index.ts";
import { type Contact, MeantContacts } from "../clearance/meant-contacts.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { between } from "../clearance/meter.ts";
import { createSceneBuilder, type Moment, type SceneBuilder } from "../clearance/moving-scene.ts";
import { type SweptMove, sweptOf } from "../clearance/swept-move.ts";
import type { VariantRuns } from "../cycle-report.ts";
import { activeTcp, carriedLoad } from "../load.ts";
import { gravityInBase } from "../mover.ts";
import { resolveTarget } from "../targets.ts";
import { type Measured, StretchMeter } from "./stretch-meter.ts";

/** Speed of the tool while people may be near, m/s: the reduced speed of ISO 10218-1 (from memory). */
export const REDUCED_SPEED = 0.25;
/** Least distance wanted unless the cell says otherwise, m. */
const DEFAULT_CLEARANCE = 0.01;
/** Joint values that differ by no more than this are the same, rad or m. */
const SAME = 1e-9;
/** Chains of the run that a retreat follows at most. */
const MOST_LEGS = 5;

export interface RetreatOptions {
  readonly meshes?: MeshLibrary;
  readonly memory?: ClearanceMemory;
  readonly builder?: SceneBuilder;
  readonly cancelled?: () => boolean;
}

type Run = CycleRun<MotionFailure>;
type Move = MoveRecord<MotionFailure>;

/** Ways home by step, for each part variant that was run. A step that no run came to is left out. */
export function stepRetreats(
  cell: Cell,
  arm: Arm,
  runs: ReadonlyMap<string, VariantRuns>,
  options: RetreatOptions = {},
): ReadonlyMap<string, ReadonlyMap<string, StepRetreats>> {
  const memory = options.memory ?? new ClearanceMemory();
  const builder = options.builder ?? createSceneBuilder(cell, arm, options.meshes, memory);
  const meter = new StretchMeter(cell, arm, builder, memory, options.meshes);
  return new Map(
    [...runs].map(([variant, paces]) => [
      variant,
      new RunRetreats(cell, arm, paces.nominal, [paces.slowest, paces.fastest], meter, memory).all(),
    ]),
  );
}

/** What the grippers hold and what rests where. */
type Load = Pick<Moment, "held" | "resting">;

/** A whole chain of motions of the run, or a push until contact. */
interface Chain {
  readonly index: number;
  readonly move: Move;
  readonly swept: SweptMove;
  readonly labels: readonly string[];
  /** Where it starts and ends, in words. */
  readonly from: string;
  readonly to: string;
  /** At its end the gripper takes or leaves a part, or a push has seated it. */
  readonly endsAtWork: boolean;
}

/** One time that a step was run. */
interface Occurrence {
  readonly step: Step;
  /** Chain under way, and which of its steps; or the chains before and after which the arm stands. */
  readonly moving?: { readonly chain: number; readonly k: number };
  readonly after?: number;
  readonly loads: readonly Load[];
  readonly devices: Situation;
  readonly gripper: string;
}

/** A stretch of the run travelled in a retreat: steps `first` to `last` of a chain. */
interface Leg {
  readonly way: "back" | "on";
  readonly chain: Chain;
  readonly first: number;
  readonly last: number;
}

interface Plan {
  readonly legs: readonly Leg[];
  /** Joint values before the legs, where the arm may leave them out, and after each. */
  readonly stands: Float64Array | undefined;
  readonly ends: readonly Float64Array[];
}

class RunRetreats {
  readonly #cell: Cell;
  readonly #arm: Arm;
  readonly #run: Run;
  readonly #others: readonly Run[];
  readonly #meter: StretchMeter;
  readonly #memory: ClearanceMemory;
  readonly #chains: (Chain | undefined)[];
  readonly #contacts: MeantContacts<MotionFailure>;
  readonly #home: Float64Array;
  readonly #standby: { readonly name: string; readonly q: Float64Array };
  /** From there to home, once everything else is done. */
  readonly #last: readonly RetreatMove[] | undefined;
  /** Poses that the routine goes to, by name. */
  readonly #poses = new Map<string, Float64Array>();
  readonly #planner: ReturnType<typeof createPlanner>;
  readonly #planned = new Map<string, Motion | undefined>();
  readonly #required: number;

  constructor(cell: Cell, arm: Arm, run: Run, others: readonly Run[], meter: StretchMeter, memory: ClearanceMemory) {
    this.#cell = cell;
    this.#arm = arm;
    this.#run = run;
    this.#others = others;
    this.#meter = meter;
    this.#memory = memory;
    this.#contacts = new MeantContacts(cell, run);
    this.#home = Float64Array.from(cell.home);
    this.#planner = createPlanner(arm);
    this.#required = cell.motion.clearance ?? DEFAULT_CLEARANCE;
    const worked = new Set(run.jaws.map(({ after }) => after));
    this.#chains = run.moves.map((move, index) => {
      const swept = sweptOf(move);
      if (swept === undefined) return undefined;
      const labels = move.steps.map((step) => labelOf(step, run.variant));
      const before = run.moves[index - 1];
      return {
        index,
        move,
        swept,
        labels,
        from: before === undefined ? "home" : labelOf(before.steps.at(-1)!, run.variant),
        to: labels.at(-1)!,
        endsAtWork: worked.has(index) || move.kind === "press",
      };
    });
    const inverse = createInverse(arm);
    const solutions = inverse.result();
    for (const chain of this.#chains) {
      if (chain === undefined) continue;
      const { context } = chain.move;
      for (const [k, step] of chain.move.steps.entries()) {
        if (step.kind !== "go" || step.to.kind !== "pose" || step.to.offset !== undefined) continue;
        if (this.#poses.has(chain.labels[k]!)) continue;
        const q = new Float64Array(arm.n);
        chain.swept.swept.position(chain.swept.ends[k]!, q);
        if (k < chain.move.steps.length - 1) {
          // A rounded corner does not go through its pose: the same branch there.
          const target = resolveTarget(cell, arm, step.to, step.gripper ?? context.gripper, context);
          if (target.joints !== undefined) q.set(target.joints);
          else {
            inverse.solve(target.baseFromFlange, solutions, false);
            if (!nearestSolution(arm, solutions, q.slice(), q)) continue;
          }
        }
        this.#poses.set(chain.labels[k]!, q);
      }
    }
    this.#poses.delete("home");
    // Where hands reach in and doors move while the arm waits: home, unless it is in a zone there.
    const empty: Load[] = [{ held: new Map(), resting: new Map() }];
    const clear = [...this.#poses].filter(([, pose]) => this.#isOutside(pose, empty));
    const way = (pose: Float64Array) => Math.hypot(...pose.map((v, i) => v - this.#home[i]!));
    const [nearest] = clear.sort(([, a], [, b]) => way(a) - way(b));
    this.#standby =
      this.#isOutside(this.#home, empty) || nearest === undefined
        ? { name: "home", q: this.#home }
        : { name: nearest[0], q: nearest[1] };
    const first = run.moves[0];
    if (this.#standby.name !== "home" && first !== undefined)
      this.#last = this.#straightTo(
        { loads: [{ held: new Map(), resting: first.resting }], devices: new Map(), gripper: first.context.gripper },
        this.#standby.q,
        { name: "home", q: this.#home },
        undefined,
      );
  }

  all(): Map<string, StepRetreats> {
    const groups = new Map<string, Map<string, { occurrences: Occurrence[]; plans: Plan[][] }>>();
    for (const occurrence of this.#occurrences()) {
      const id = occurrence.step.id;
      const key = this.#fromOf(occurrence);
      const own = groups.get(id) ?? new Map<string, { occurrences: Occurrence[]; plans: Plan[][] }>();
      groups.set(id, own);
      const group = own.get(key) ?? { occurrences: [], plans: [] };
      own.set(key, group);
      group.occurrences.push(occurrence);
      group.plans.push(this.#plans(occurrence));
    }
    const found = new Map<string, StepRetreats>();
    for (const [id, own] of groups) {
      const retreats: Retreat[] = [];
      let reason: string | undefined;
      for (const { occurrences, plans } of own.values()) {
        const retreat = this.#best(occurrences, plans);
        if (retreat === undefined) reason = "the arm stands where a part is taken or left on both sides of its path";
        else if (own.size === 1) retreats.push(retreat);
        else
          retreats.push({
            ...retreat,
            from: this.#fromOf(occurrences[0]!),
            standing: this.#standsIn(occurrences, plans),
          });
      }
      // One of its places without a way home: then nobody is told to move.
      found.set(
        id,
        reason === undefined ? { retreats: distinct(retreats), last: this.#last } : { retreats: [], reason },
      );
    }
    return found;
  }

  /** Zones in which the arm stands; undefined while it moves. */
  #standsIn(occurrences: readonly Occurrence[], plans: readonly (readonly Plan[])[]): string[] | undefined {
    const zones = new Set<string>();
    for (const [i, { moving, after, loads }] of occurrences.entries()) {
      if (moving !== undefined) return undefined;
      const before = this.#chains[after ?? -1];
      const q = plans[i]![0]?.stands ?? (before === undefined ? this.#home : endOf(before));
      for (const { held } of loads) for (const zone of this.#meter.zones(this.#stillAt(q), held)) zones.add(zone);
    }
    return [...zones].sort();
  }

  #fromOf({ moving, after }: Occurrence): string {
    if (moving !== undefined) return this.#chains[moving.chain]?.from ?? "home";
    return after === undefined || after < 0 ? "home" : (this.#chains[after]?.to ?? "home");
  }

  /** Every time that a step was run, with what may be held and where devices may be. */
  *#occurrences(): Generator<Occurrence> {
    const run = this.#run;
    const places = whereaboutsOf(this.#cell, [run, ...this.#others]);
    const rest = new Map(places.standing.map(({ after, situation }) => [after, situation]));
    const first = new Map(run.moves.map((move, index) => [move.activity, index]));
    const steps = stepsById(this.#cell);
    const loadOf = (index: number): Load | undefined => {
      const move = run.moves[index];
      return move && { held: move.context.held, resting: move.resting };
    };
    let index = -1;
    let k = 0;
    for (const activity of run.activities) {
      const step = activity.lane === "arm" ? steps.get(activity.stepId ?? "") : undefined;
      if (step === undefined) continue;
      if (step.kind === "go" || step.kind === "press") {
        const begins = first.get(activity.index);
        if (begins !== undefined) {
          index = begins;
          k = 0;
        } else k++;
        const load = loadOf(index);
        const devices = places.moves[index]?.[k];
        if (load === undefined || devices === undefined) continue;
        yield {
          step,
          moving: { chain: index, k },
          loads: [load],
          devices,
          gripper: run.moves[index]!.context.gripper,
        };
        continue;
      }
      const loads = [loadOf(index), loadOf(index + 1)].filter((load) => load !== undefined);
      if (loads.length === 0) continue;
      yield {
        step,
        after: index,
        loads,
        devices: merged([places.moves[index]?.at(-1), rest.get(index), places.moves[index + 1]?.[0]]),
        gripper: (run.moves[index] ?? run.moves[index + 1]!).context.gripper,
      };
    }
  }

  /** Ways along the path, the better first. */
  #plans({ moving, after, loads }: Occurrence): Plan[] {
    if (moving !== undefined) {
      const chain = this.#chains[moving.chain];
      if (chain === undefined) return [];
      const last = chain.move.steps.length - 1;
      const back = this.#along([{ way: "back", chain, first: 0, last: moving.k }], loads);
      return [back, this.#along([{ way: "on", chain, first: moving.k, last }], loads)].flatMap((plan) => plan ?? []);
    }
    const at = after ?? -1;
    const before = this.#chains[at];
    const q = before === undefined ? this.#home : endOf(before);
    const stands = before?.endsAtWork === true ? undefined : q;
    const still: Plan = { legs: [], stands: q, ends: [] };
    if (stands !== undefined && (isSame(q, this.#home) || this.#isOutside(q, loads))) return [still];
    const next = this.#chains[at + 1];
    const whole = (way: Leg["way"], chain: Chain): Leg => ({ way, chain, first: 0, last: chain.move.steps.length - 1 });
    const plans = [
      next === undefined ? undefined : this.#along([whole("on", next)], loads),
      before === undefined ? undefined : this.#along([whole("back", before)], loads),
    ].flatMap((plan) => plan ?? []);
    if (stands === undefined) return plans;
    return [...plans.map((plan) => ({ ...plan, stands })), still];
  }

  /**
   * Goes on in the same way until the arm is out of all zones, or no farther than where parts are neither taken nor left.
   * Undefined: the first leg leads to such a place.
   */
  #along(legs: readonly Leg[], loads: readonly Load[]): Plan | undefined {
    const done: Leg[] = [];
    const ends: Float64Array[] = [];
    let leg: Leg | undefined = legs[0];
    while (leg !== undefined && done.length < MOST_LEGS) {
      const { way, chain }: Leg = leg;
      const before: Chain | undefined = this.#chains[chain.index - 1];
      const q = way === "on" ? endOf(chain) : before === undefined ? this.#home : endOf(before);
      if (way === "on" ? chain.endsAtWork : before?.endsAtWork === true) break;
      done.push(leg);
      ends.push(q);
      if (this.#isOutside(q, loads)) break;
      const next: Chain | undefined = way === "on" ? this.#chains[chain.index + 1] : before;
      leg = next && { way, chain: next, first: 0, last: next.move.steps.length - 1 };
    }
    return done.length === 0 ? undefined : { legs: done, stands: undefined, ends };
  }

  #isOutside(q: Float64Array, loads: readonly Load[]): boolean {
    return loads.every(({ held }) => this.#meter.zones(this.#stillAt(q), held).length === 0);
  }

  #stillAt(q: Float64Array) {
    return { key: `still|${this.#memory.numberOf(armKeyOf(this.#arm))}|${q.join()}`, motion: standing(q) };
  }

  /** The first way that is certified for all times that the step was run, else the one with the most clearance. */
  #best(occurrences: readonly Occurrence[], plans: readonly (readonly Plan[])[]): Retreat | undefined {
    let best: { readonly retreat: Retreat; readonly least: number } | undefined;
    const via = [undefined, ...this.#poses.keys()];
    const count = Math.min(...plans.map((list) => list.length));
    for (let p = 0; p < count; p++) {
      const own = plans.map((list) => list[p]!);
      const fewest = own.every(({ stands }) => stands !== undefined) ? 0 : 1;
      for (let depth = Math.min(...own.map(({ legs }) => legs.length)); depth >= fewest; depth--) {
        // Not told apart by the person at the arm: the way has to be the same in words.
        const words = new Set(own.map(({ legs }) => wordsOf(legs.slice(0, depth))));
        if (words.size > 1) continue;
        const legs = merge(
          occurrences.map((o, i) => this.#legs(o, { ...own[i]!, legs: own[i]!.legs.slice(0, depth) })),
        );
        if (legs === undefined) continue;
        for (const pose of via) {
          const home = merge(
            occurrences.map((o, i) =>
              this.#toStandby(o, depth === 0 ? own[i]!.stands! : own[i]!.ends[depth - 1]!, pose),
            ),
          );
          if (home === undefined) continue;
          const moves = [...legs, ...home];
          const least = Math.min(
            this.#meter.told,
            ...moves.map(({ clearance }) => clearance.least ?? this.#meter.told),
          );
          if (moves.every(isCertified)) return { from: undefined, moves };
          if (best === undefined || least > best.least) best = { retreat: { from: undefined, moves }, least };
        }
      }
    }
    return best?.retreat;
  }

  #legs(occurrence: Occurrence, { legs }: Plan): RetreatMove[] {
    return legs.map(({ way, chain, first, last }): RetreatMove => {
      const measured: Measured[] = [];
      const zones = new Set<string>();
      const endZones = new Set<string>();
      let required = 0;
      const { swept, ends, object } = chain.swept;
      for (let k = first; k <= last; k++) {
        const from = k === 0 ? 0 : ends[k - 1]!;
        const stretch = {
          key: `${this.#memory.numberOfObject(object)}|${k}`,
          motion: ends.length === 1 ? swept : between(swept, from, ends[k]!),
        };
        required = Math.max(required, chain.move.steps[k]!.clearance ?? this.#required);
        for (const load of occurrence.loads) {
          measured.push(
            this.#meter.measure(stretch, { ...load, devices: occurrence.devices }, this.#contactsOf(chain, k)),
          );
          for (const zone of this.#meter.zones(stretch, load.held)) zones.add(zone);
        }
      }
      const before = this.#chains[chain.index - 1];
      const end = way === "on" ? endOf(chain) : before === undefined ? this.#home : endOf(before);
      for (const { held } of occurrence.loads)
        for (const zone of this.#meter.zones(this.#stillAt(end), held)) endZones.add(zone);
      const motion = object as Motion;
      return {
        way,
        to: way === "on" ? chain.to : chain.from,
        longest: motion.duration * Math.max(1, motion.peakToolSpeed / REDUCED_SPEED),
        zones: [...zones].sort(),
        endZones: [...endZones].sort(),
        clearance: { ...worst(measured), required },
      };
    });
  }

  /** Contacts meant in a step of a chain, or at the places at its ends: a part may be held there or not. */
  #contactsOf(chain: Chain, k: number): Contact[] {
    return [
      ...this.#contacts.of(chain.index, k),
      ...(k === 0 ? this.#contacts.standing(chain.index - 1) : []),
      ...(k === chain.move.steps.length - 1 ? this.#contacts.standing(chain.index) : []),
      // A push brings the part where it stays.
      ...(this.#run.moves[chain.index + 1]?.kind === "press" ? this.#contacts.standing(chain.index + 1) : []),
    ];
  }

  #toStandby(occurrence: Occurrence, q: Float64Array, pose: string | undefined): RetreatMove[] | undefined {
    return this.#straightTo(occurrence, q, this.#standby, pose);
  }

  /** Straight in joint space to a pose, perhaps by way of another. */
  #straightTo(
    occurrence: Pick<Occurrence, "loads" | "devices" | "gripper">,
    q: Float64Array,
    goal: { readonly name: string; readonly q: Float64Array },
    pose: string | undefined,
  ): RetreatMove[] | undefined {
    if (isSame(q, goal.q)) return pose === undefined ? [] : undefined;
    const corners: (readonly [string, Float64Array])[] = [];
    if (pose !== undefined) {
      const corner = this.#poses.get(pose)!;
      if (isSame(corner, q) || isSame(corner, goal.q)) return undefined;
      corners.push([pose, corner]);
    }
    corners.push([goal.name, goal.q]);
    const moves: RetreatMove[] = [];
    let from = q;
    for (const [to, end] of corners) {
      const measured: Measured[] = [];
      const zones = new Set<string>();
      const endZones = new Set<string>();
      let longest = 0;
      for (const load of occurrence.loads) {
        const motion = this.#straight(from, end, occurrence.gripper, load);
        if (motion === undefined) return undefined;
        longest = Math.max(longest, motion.duration);
        const stretch = {
          key: `straight|${this.#memory.numberOf(`${from.join()}>${end.join()}`)}`,
          motion: motion.swept,
        };
        measured.push(this.#meter.measure(stretch, { ...load, devices: occurrence.devices }, []));
        for (const zone of this.#meter.zones(stretch, load.held)) zones.add(zone);
        for (const zone of this.#meter.zones(this.#stillAt(end), load.held)) endZones.add(zone);
      }
      moves.push({
        way: "joint",
        to,
        longest,
        zones: [...zones].sort(),
        endZones: [...endZones].sort(),
        clearance: { ...worst(measured), required: this.#required },
      });
      from = end;
    }
    return moves;
  }

  /** A joint motion at reduced speed; undefined when it cannot be planned. */
  #straight(from: Float64Array, to: Float64Array, gripper: string, { held }: Load): Motion | undefined {
    const parts = [...held].map(([name, part]) => `${name}=${part.part}/${part.stage}/${part.grip}`).sort();
    const key = [from.join(), to.join(), gripper, ...parts].join("|");
    if (this.#planned.has(key)) return this.#planned.get(key);
    const { arm, motion } = this.#cell;
    const outcome = this.#planner.plan({
      arm: this.#arm,
      start: from,
      segments: [
        {
          kind: "joint",
          to,
          blend: 0,
          speed: {
            fraction: motion.jointSpeed,
            toolSpeed: REDUCED_SPEED,
            toolAcceleration: Number.POSITIVE_INFINITY,
            constant: false,
          },
        },
      ],
      flangeFromTcp: activeTcp(this.#cell, gripper, held),
      tool: {
        speed: Math.min(arm.toolSpeed, REDUCED_SPEED),
        acceleration: arm.toolAcceleration,
        jerk: arm.toolJerk,
        turnSpeed: arm.toolTurnSpeed,
        turnAcceleration: arm.toolTurnAcceleration,
      },
      payload: carriedLoad(this.#cell, held),
      gravity: gravityInBase(this.#cell),
      lineStep: motion.lineStep,
    });
    const made = outcome.ok ? outcome.motion : undefined;
    this.#planned.set(key, made);
    return made;
  }
}

const wordsOf = (legs: readonly Leg[]): string =>
  JSON.stringify(legs.map(({ way, chain }) => [way, way === "on" ? chain.to : chain.from]));

const isCertified = ({ clearance: { least, required } }: RetreatMove): boolean =>
  least === undefined || least >= required - SAME;

function worst(measured: readonly Measured[]): Measured {
  let found: Measured = { least: undefined, pair: undefined };
  for (const one of measured)
    if (one.least !== undefined && (found.least === undefined || one.least < found.least)) found = one;
  return found;
}

/** The same moves over all times that the step was run: the longest times, all zones, the least clearance. */
function merge(all: readonly (readonly RetreatMove[] | undefined)[]): RetreatMove[] | undefined {
  const [first] = all;
  if (first === undefined || all.some((moves) => moves?.length !== first.length)) return undefined;
  return first.map((move, i) => {
    const same = all.map((moves) => moves![i]!);
    const least = worst(same.map(({ clearance }) => clearance));
    return {
      ...move,
      longest: Math.max(...same.map(({ longest }) => longest)),
      zones: [...new Set(same.flatMap(({ zones }) => zones))].sort(),
      endZones: [...new Set(same.flatMap(({ endZones }) => endZones))].sort(),
      clearance: { ...least, required: Math.max(...same.map(({ clearance }) => clearance.required)) },
    };
  });
}

/** Ways that are the same in words are told once. */
function distinct(retreats: readonly Retreat[]): Retreat[] {
  const key = ({ moves, standing: zones }: Retreat) => JSON.stringify([moves.map(({ way, to }) => [way, to]), zones]);
  const groups = new Map<string, Retreat[]>();
  for (const retreat of retreats) groups.set(key(retreat), [...(groups.get(key(retreat)) ?? []), retreat]);
  return [...groups.values()].map((same) => ({
    from:
      groups.size === 1
        ? undefined
        : [...new Set(same.map(({ from }) => from).filter((from) => from !== undefined))].join(" or "),
    ...(groups.size === 1 ? {} : { standing: same[0]!.standing }),
    moves: merge(same.map(({ moves }) => moves))!,
  }));
}

function merged(situations: readonly (Situation | undefined)[]): Situation {
  const all = new Map<string, Situation extends ReadonlyMap<string, infer W> ? W : never>();
  for (const situation of situations)
    for (const [name, at] of situation ?? []) {
      const known = all.get(name);
      const stretches = [...(known?.stretches ?? []), ...at.stretches];
      all.set(name, {
        ...at,
        stretches: stretches.filter((s, i) => stretches.findIndex((o) => stretchKey(o) === stretchKey(s)) === i),
      });
    }
  return all;
}

const isSame = (a: Float64Array, b: Float64Array): boolean => a.every((v, i) => Math.abs(v - b[i]!) <= SAME);

const endOf = ({ move }: Chain): Float64Array => (move.outcome.ok ? move.outcome.end : move.outcome.resume);

/** Where a step ends, in words without the place in a tray. */
function labelOf(step: GoStep | PressStep, variant: string): string {
  if (step.kind === "press") return "the contact";
  const name = step.to.at.variants.get(variant) ?? step.to.at.default ?? "";
  if (step.to.offset === undefined) return step.to.kind === "pose" ? name : `the part's place in ${name}`;
  const { pose, in: frame } = step.to.offset;
  const way = Math.round(1000 * Math.hypot(pose[3]!, pose[7]!, pose[11]!));
  return `${way} mm off ${name}${frame === "target" ? "" : ` (in ${frame})`}`;
}
