/** Clearance and zones of stretches of motion at one moment of a routine: answers are remembered, and shared with the survey's. */

import type { Arm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import { stepsOf } from "../../cell/step-walk.ts";
import { createSweptScene, type MeshLibrary, type SweptMotion } from "../../clearance/index.ts";
import { stretchKey } from "../../cycle/index.ts";
import type { Element } from "../clearance/elements.ts";
import { type Contact, contactKey, isMeant } from "../clearance/meant-contacts.ts";
import type { ClearanceMemory } from "../clearance/memory.ts";
import { createSweptMeter, type ElementPair, type SweptMeter } from "../clearance/meter.ts";
import { type Moment, placed, type SceneBuilder } from "../clearance/moving-scene.ts";
import { createReaches, type Reaches } from "../clearance/reach.ts";
import { zoneElements } from "../clearance/zone-elements.ts";

export interface Stretch {
  /** Stands for the motion. */
  readonly key: string;
  readonly motion: SweptMotion;
}

export interface Measured {
  /** Certified: no distance is below, m; undefined when there is nothing to compare. */
  readonly least: number | undefined;
  readonly pair: readonly [string, string] | undefined;
}

/** Distances above this are told as this, m, unless more is wanted. */
const TOLD = 0.1;

export class StretchMeter {
  readonly #arm: Arm;
  readonly #memory: ClearanceMemory;
  readonly #builder: SceneBuilder;
  readonly #meter: SweptMeter;
  readonly #reaches: Reaches;
  readonly #zones: ReadonlyMap<string, readonly Element[] | undefined>;
  readonly #known = new Map<string, Measured>();
  /** Distances above this are told as this, m. */
  readonly told: number;
  readonly #inZones = new Map<string, readonly string[]>();

  constructor(cell: Cell, arm: Arm, builder: SceneBuilder, memory: ClearanceMemory, meshes?: MeshLibrary) {
    this.told = Math.max(TOLD, cell.motion.clearance ?? 0, ...clearances(cell));
    this.#arm = arm;
    this.#memory = memory;
    this.#builder = builder;
    this.#meter = createSweptMeter(arm, memory);
    this.#reaches = createReaches(arm);
    this.#zones = zoneElements(cell, memory, meshes);
  }

  /** Least distance of everything that may meet, but for contacts that are meant. */
  measure({ key, motion }: Stretch, moment: Moment, contacts: readonly Contact[]): Measured {
    const carried = this.#builder.carried(moment.held);
    const ids = carried.map(({ id }) => id).join();
    const text = [
      key,
      ids,
      this.#memory.numberOfObject(moment.resting),
      [...moment.devices].map(([name, { stretches }]) => `${name}:${stretches.map(stretchKey).join()}`).join(";"),
      ...contacts.map(contactKey),
    ].join("|");
    let known = this.#known.get(text);
    if (known !== undefined) return known;
    const reach = this.#reaches.of(motion, carried, this.told, this.#memory.reach(`${key}|${ids}|${this.told}`));
    const near: ElementPair[] = [];
    let compared = false;
    carried.forEach((a, i) => {
      for (let j = i + 1; j < carried.length; j++) {
        if (!this.#builder.mayMeet(a, carried[j]!)) continue;
        compared = true;
        if (reach.nearEachOther(i, j)) near.push([carried[j]!, a]);
      }
    });
    const moves = carried.some(({ link }) => link! > 0);
    const compare = (other: Element) => {
      if (other.group === "person") return;
      compared ||= moves;
      for (const i of reach.near(other)) {
        const own = carried[i]!;
        if (own.link !== 0 && !isMeant(contacts, own, other)) near.push([own, other]);
      }
    };
    this.#builder.standing(moment.devices).forEach(compare);
    for (const [holder, places] of moment.resting) {
      for (const [place, part] of places.entries()) {
        if (part === undefined) continue;
        const all = this.#builder.elements.resting(holder, part);
        if (!reach.mayBeNear(all.box)) continue;
        for (const element of all.at(place)) compare(element);
      }
    }
    if (near.length === 0) known = { least: compared ? this.told : undefined, pair: undefined };
    else {
      const found = this.#meter.least({ key, motion }, near, this.told);
      const pair = near[found.pair];
      known = { least: Math.min(found.lower, this.told), pair: pair && [pair[0].name, pair[1].name] };
    }
    this.#known.set(text, known);
    return known;
  }

  /** Zones that arm, tool or held parts may be in: those that are not certified free. */
  zones({ key, motion }: Stretch, held: Moment["held"]): readonly string[] {
    const carried = this.#builder.carried(held).filter(({ link }) => link! > 0);
    const text = `${key}|${carried.map(({ id }) => id).join()}`;
    let known = this.#inZones.get(text);
    if (known === undefined) {
      const reach = this.#reaches.of(motion, carried, 0.001, this.#memory.reach(`zones|${text}`));
      known = [...this.#zones].flatMap(([zone, shapes]) => {
        if (shapes === undefined) return [zone];
        const pairs = shapes.flatMap((shape) => reach.near(shape).map((i) => [carried[i]!, shape] as const));
        if (pairs.length === 0) return [];
        const elements = [...new Set(pairs.flat())];
        const { bodies, slides } = placed(elements);
        const indices = pairs.map(([a, b]) => [elements.indexOf(a), elements.indexOf(b)] as const);
        return createSweptScene(this.#arm, bodies, slides, indices).clear(motion, 0) ? [] : [zone];
      });
      this.#inZones.set(text, known);
    }
    return known;
  }
}

/** Clearances that steps ask for. */
function clearances(cell: Cell): number[] {
  return [...stepsOf(cell)].flatMap((step) =>
    (step.kind === "go" || step.kind === "press") && step.clearance !== undefined ? [step.clearance] : [],
  );
}
