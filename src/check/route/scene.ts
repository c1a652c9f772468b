/** What a found route must keep clear of: the bodies of a moment, with the pairs that are not meant to touch. */

import type { Arm } from "../../arm/model.ts";
import { machineDevices } from "../../cell/equipment.ts";
import type { Cell } from "../../cell/model.ts";
import { createSweptScene, type SweptMotion, type SweptScene } from "../../clearance/index.ts";
import type { MoveContext, Situation } from "../../cycle/index.ts";
import { createRouter, type RouteOutcome, type RouteScene } from "../../route/index.ts";
import type { Element } from "../clearance/elements.ts";
import { type Contact, contactKey, isMeant } from "../clearance/meant-contacts.ts";
import type { ClearanceMemory } from "../clearance/memory.ts";
import type { Moment, MovingScene, SceneBuilder } from "../clearance/moving-scene.ts";

/** Asked for above the distance wanted, so that what is measured afterwards is certified and not as good as certified, m. */
export const OVER = 2e-5;
/** The room above that which a route keeps where it can, for rounding its corners, m. */
const ROOM = 0.01;

export interface SearchRequest {
  readonly start: Float64Array;
  readonly goals: readonly Float64Array[];
  /** Distance wanted of every pair, m. */
  readonly required: number;
  readonly seed: number;
  /** Most states looked at. */
  readonly states: number;
  /** Asked for above the distance wanted, m; default 0.02 mm. */
  readonly over?: number;
  /** Room above that which the route keeps where it can, m; default 10 mm: room for rounding corners. */
  readonly room?: number;
  /** What a unit of each joint counts; default 1 each. */
  readonly weights?: readonly number[];
  readonly cancelled?: () => boolean;
}

/** One moment of a cell, prepared for routes and for certifying motions. */
export interface MomentScene {
  /** Stands for the bodies and pairs. */
  readonly key: string;
  readonly scene: MovingScene;
  readonly contacts: readonly Contact[];
  /** Pairs that must keep their distance, and those that are meant to touch. */
  readonly pairs: readonly (readonly [number, number])[];
  readonly meant: readonly (readonly [number, number])[];
  find(request: SearchRequest): RouteOutcome;
  /** Time at which a motion is nearer than required somewhere; undefined: certified not to be. */
  nearAt(motion: SweptMotion, required: number): number | undefined;
  /** Two bodies that are meant to touch but overlap by more than so much on the way, m. */
  tooDeep(motion: SweptMotion, allowed: number): readonly [Element, Element] | undefined;
}

export function momentScene(
  arm: Arm,
  builder: SceneBuilder,
  memory: ClearanceMemory,
  moment: Moment,
  contacts: readonly Contact[],
): MomentScene {
  const scene = builder.sceneFor(moment);
  const { elements, bodies, slides } = scene;
  const pairs: (readonly [number, number])[] = [],
    meant: (readonly [number, number])[] = [];
  for (const pair of scene.pairs)
    (isMeant(contacts, elements[pair[0]]!, elements[pair[1]]!) ? meant : pairs).push(pair);
  const key = String(
    memory.numberOf(`moment|${elements.map(({ id }) => id).join()}|${contacts.map(contactKey).join("|")}`),
  );
  let swept: SweptScene | undefined;

  const find = (request: SearchRequest, margin: number): RouteOutcome => {
    const { start, goals, seed, states, room = ROOM, weights, cancelled } = request;
    const asked: RouteScene = { arm, bodies, slides, pairs, margin, ...(weights && { weights }) };
    return createRouter(asked).find({ start, goals, seed, states, room, ...(cancelled && { cancelled }) });
  };

  return {
    key,
    scene,
    contacts,
    pairs,
    meant,
    find(request) {
      const { required, start, goals, seed, states, weights, over = OVER, room = ROOM } = request;
      const ends = [start, ...goals].map((q) => q.join());
      const asked = [key, required, over, room, seed, states, weights?.join() ?? "", ...ends];
      return memory.routes.route(asked.join("|"), () => {
        const found = find(request, required + over);
        if (found.ok || (found.reason !== "start not clear" && found.reason !== "goal not clear") || over === 0)
          return found;
        return find(request, required);
      });
    },
    nearAt(motion, required) {
      if (pairs.length === 0) return undefined;
      swept ??= createSweptScene(arm, bodies, slides, pairs);
      return swept.clear(motion, required) ? undefined : swept.time;
    },
    tooDeep(motion, allowed) {
      if (meant.length === 0) return undefined;
      const touching = createSweptScene(arm, bodies, slides, meant);
      if (touching.clear(motion, -allowed)) return undefined;
      const [a, b] = meant[touching.pair] ?? meant[0]!;
      return [elements[a]!, elements[b]!];
    },
  };
}

/** Every device anywhere on its whole way. */
export function wholeTravel(cell: Cell): Situation {
  return new Map(
    machineDevices(cell).map(({ name, positions }) => {
      const stretches = positions.flatMap((from, i) => positions.slice(i + 1).map((to) => ({ from, to })));
      const [only] = positions;
      return [
        name,
        {
          stretches: stretches.length > 0 ? stretches : [{ from: only!, to: only! }],
          target: undefined,
          sentBy: undefined,
        },
      ];
    }),
  );
}

/** The moment at which a motion is made. What is not known is taken as it is worst for devices, and parts as not there. */
export function momentOf(context: MoveContext, anywhere: () => Situation): Moment {
  return {
    held: context.held,
    resting: context.resting ?? new Map(),
    devices: context.devices ?? anywhere(),
  };
}
