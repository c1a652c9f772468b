/** Found routes for `go` steps: where the step may end, what stands around, and the corners of a way through. */
import type { Arm } from "../../arm/model.ts";
import type { BranchChoice, Cell } from "../../cell/model.ts";
import type { GoStep } from "../../cell/steps.ts";
import { type MeshLibrary, standing } from "../../clearance/index.ts";
import type { MoveContext, Situation } from "../../cycle/index.ts";
import type { MotionFailure } from "../../motion/index.ts";
import type { RouteOutcome } from "../../route/index.ts";
import type { BranchChooser } from "../branch.ts";
import { type Contact, contactAt, contactOnLeaving } from "../clearance/meant-contacts.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { createSceneBuilder, type SceneBuilder } from "../clearance/moving-scene.ts";
import { requiredClearance } from "../clearance/required.ts";
import { type FlangeTarget, nameFor } from "../targets.ts";
import { noRouteFailure } from "./no-route.ts";
import { offsetText, type PlaceVisit, retreatsFor, simplest } from "./retreats.ts";
import { type MomentScene, momentOf, momentScene, OVER, type SearchRequest, wholeTravel } from "./scene.ts";

/** Most states looked at for a route, and for each thing that is tried to mend that there is none. */
const STATES = 400_000;
const TRIED_STATES = 60_000;
/** The same for the branch that the straight motion would end on, before all that are allowed. */
const NEAREST_STATES = 60_000;

/** Moments kept prepared: those with large trays are large. */
const MOST_MOMENTS = 16;

export interface RouteOptions {
  /** Routes found by earlier checks: those still wanted are not searched for again. */
  readonly memory?: ClearanceMemory;
  readonly meshes?: MeshLibrary;
  readonly cancelled?: () => boolean;
  /** Most states looked at for one route; default 400,000. */
  readonly states?: number;
}

export type FoundRoute =
  | {
      readonly ok: true;
      /** Corners, start and end included. */
      readonly path: readonly Float64Array[];
      /** Distance at which the motion along it is to be certified, m. */
      readonly margin: number;
    }
  | { readonly ok: false; readonly failure: MotionFailure; readonly resume: Float64Array };

export class RouteFinder {
  readonly memory: ClearanceMemory;
  readonly #cell: Cell;
  readonly #arm: Arm;
  readonly #chooser: BranchChooser;
  readonly #options: RouteOptions;
  readonly #weights: readonly number[];
  readonly #moments = new Map<string, MomentScene>();
  #builder: SceneBuilder | undefined;
  #anywhere: Situation | undefined;

  constructor(cell: Cell, arm: Arm, chooser: BranchChooser, options: RouteOptions) {
    this.memory = options.memory ?? new ClearanceMemory();
    this.#cell = cell;
    this.#arm = arm;
    this.#chooser = chooser;
    this.#options = options;
    this.#weights = timeWeights(arm);
  }

  /** The bodies while a step of a chain is made. @param index of the step in its chain of `count` */
  moment(step: GoStep, index: number, count: number, context: MoveContext): MomentScene {
    return this.#momentWith(context, this.#contacts(step, index, count, context));
  }

  /**
   * A way to one of the states that the step's branch choice allows: to the one where the straight motion would end, or, where none
   * is found to that, to any.
   */
  find(step: GoStep, target: FlangeTarget, from: Float64Array, moment: MomentScene, context: MoveContext): FoundRoute {
    const branch = step.to.branch ?? target.pose?.branch;
    const goals = this.#goals(target, from, branch);
    if ("failure" in goals) return { ok: false, failure: goals.failure, resume: from };
    const required = requiredClearance(this.#cell, step);
    const search = (scene: MomentScene, to: readonly Float64Array[], states: number): RouteOutcome =>
      scene.find(this.#request(from, to, required, states));
    const states = this.#options.states ?? STATES;
    // Where the straight motion would end, if there is a way to it: what follows is meant for that branch.
    const nearest = goals.length > 1 ? search(moment, goals.slice(0, 1), Math.min(states, NEAREST_STATES)) : undefined;
    const found = nearest?.ok === true ? nearest : search(moment, goals, states);
    if (found.ok)
      return {
        ok: true,
        path: found.path,
        margin: found.clearance >= required + OVER / 2 ? required + OVER / 2 : required,
      };
    const others = branch === undefined ? goals : this.#goals(target, from, undefined);
    const failure = noRouteFailure({
      cell: this.#cell,
      label: target.label,
      required,
      moment,
      outcome: found,
      devices: context.devices ?? this.#wholeTravel(),
      reachable: (devices) =>
        search(this.#momentWith({ ...context, devices }, moment.contacts), goals, TRIED_STATES).ok,
      wayOut:
        found.reason === "start not clear" && from === context.q ? this.#wayOut(moment, required, context) : undefined,
      otherBranch: branch !== undefined && !("failure" in others) && search(moment, others, TRIED_STATES).ok,
    });
    return { ok: false, failure, resume: goals[0]! };
  }

  /** The step that leaves the place where the motion begins far enough for a route to begin. */
  #wayOut(moment: MomentScene, required: number, context: MoveContext): string | undefined {
    const jaw = context.worked?.at(-1);
    if (jaw === undefined || this.#builder === undefined) return undefined;
    const { step, holder, place } = jaw;
    const visit: PlaceVisit = {
      step,
      way: "retreat",
      move: -1,
      variant: context.variant,
      holder,
      place,
      gripper: step.gripper,
      q: context.q,
      moment: momentOf(context, () => this.#wholeTravel()),
      contacts: moment.contacts,
    };
    for (const { ways } of retreatsFor(this.#cell, this.#arm, this.#builder, this.memory, visit, required)) {
      const best = simplest(
        ways.filter(({ retreat }) => moment.nearAt(standing(retreat.outside), required) === undefined),
      );
      if (best !== undefined) return `go: { to: ${holder}, offset: ${offsetText(best.offset)}, by: line }`;
    }
    return undefined;
  }

  #goals(target: FlangeTarget, from: Float64Array, branch: BranchChoice | undefined) {
    return target.joints === undefined ? this.#chooser.goals(target, from, branch) : [target.joints];
  }

  #request(start: Float64Array, goals: readonly Float64Array[], required: number, states: number): SearchRequest {
    const { cancelled } = this.#options;
    const seed = this.#cell.motion.routeSeed ?? 1;
    return { start, goals, required, seed, states, weights: this.#weights, ...(cancelled && { cancelled }) };
  }

  #momentWith(context: MoveContext, contacts: readonly Contact[]): MomentScene {
    this.#builder ??= createSceneBuilder(this.#cell, this.#arm, this.#options.meshes, this.memory);
    const moment = momentOf(context, () => this.#wholeTravel());
    const made = momentScene(this.#arm, this.#builder, this.memory, moment, contacts);
    const known = this.#moments.get(made.key);
    if (known !== undefined) return known;
    this.#moments.set(made.key, made);
    if (this.#moments.size > MOST_MOMENTS) this.#moments.delete(this.#moments.keys().next().value!);
    return made;
  }

  #wholeTravel(): Situation {
    this.#anywhere ??= wholeTravel(this.#cell);
    return this.#anywhere;
  }

  /** What the step may touch: where it leaves a place, where it goes right into one, and what it says itself. */
  #contacts(step: GoStep, index: number, count: number, context: MoveContext): readonly Contact[] {
    const cell = this.#cell;
    const contacts: Contact[] = [];
    if (index === 0) for (const record of context.worked ?? []) contacts.push(contactOnLeaving(cell, record));
    if (index === count - 1 && step.to.kind === "holder" && step.to.offset === undefined) {
      const holder = nameFor(step.to.at, context.variant);
      const gripper = step.gripper ?? context.gripper;
      const place = step.to.place ?? context.places.get(holder) ?? 0;
      contacts.push(contactAt(cell, gripper, holder, place, context.held.has(gripper)));
    }
    if (step.mayTouch !== undefined) contacts.push({ kind: "touch", shapes: new Set(step.mayTouch) });
    return contacts;
  }
}

/** Joints count by the time that they take: a unit of the fastest counts 1. */
function timeWeights({ velocity }: Arm): readonly number[] {
  const limits = Array.from(velocity);
  const fastest = Math.max(...limits.filter(Number.isFinite));
  return limits.map((v) => (Number.isFinite(v) && v > 0 ? fastest / v : 1));
}
