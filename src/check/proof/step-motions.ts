/**
 * What the interlock proof needs to know of the arm's motions: how long each step's motion takes over every pass, place and pace,
 * and which zones arm, tool or held part are in. A zone counts as free only where the swept clearance certifies it.
 */
import type { Arm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import { createSweptScene, type MeshLibrary, type SweptMotion, standing } from "../../clearance/index.ts";
import type { CycleRun, HeldPart, MoveRecord } from "../../cycle/index.ts";
import { armKeyOf, type MotionFailure } from "../../motion/index.ts";
import type { StepMotion } from "../../proof/index.ts";
import type { Element } from "../clearance/elements.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { between } from "../clearance/meter.ts";
import { createSceneBuilder, placed, type SceneBuilder } from "../clearance/moving-scene.ts";
import { createReaches, type Reaches } from "../clearance/reach.ts";
import { sweptOf } from "../clearance/swept-move.ts";
import { zoneElements } from "../clearance/zone-elements.ts";
import type { VariantRuns } from "../cycle-report.ts";

/** Motions by step, for each part variant. */
export type StepMotions = ReadonlyMap<string, ReadonlyMap<string, StepMotion>>;

export interface StepMotionOptions {
  readonly meshes?: MeshLibrary;
  readonly memory?: ClearanceMemory;
  /** Of the clearance survey of the same cell, when there was one. */
  readonly builder?: SceneBuilder;
}

/**
 * The motion of every step that any run of its variant made. A step whose motion failed somewhere is left out: the proof then says
 * that it was never timed.
 */
export function stepMotions(
  cell: Cell,
  arm: Arm,
  runs: ReadonlyMap<string, VariantRuns>,
  options: StepMotionOptions = {},
): StepMotions {
  const zones = new ZoneFinder(cell, arm, options);
  const motions = new Map<string, Map<string, StepMotion>>();
  for (const [variant, paces] of runs) {
    const found = new Map<string, Gathered>();
    const failed = new Set<string>();
    for (const run of Object.values(paces)) {
      timesOf(run, found);
      for (const move of run.moves) {
        if (!move.outcome.ok) {
          for (const step of move.steps) failed.add(step.id);
          continue;
        }
        zones.add(move, found);
      }
    }
    for (const id of failed) found.delete(id);
    motions.set(
      variant,
      new Map(
        [...found].map(([id, { shortest, longest, zones: through, endZones }]): [string, StepMotion] => [
          id,
          { shortest, longest, zones: [...through].sort(), endZones: [...endZones].sort() },
        ]),
      ),
    );
  }
  return motions;
}

interface Gathered {
  shortest: number;
  longest: number;
  readonly zones: Set<string>;
  readonly endZones: Set<string>;
}

function timesOf({ activities }: CycleRun<MotionFailure>, found: Map<string, Gathered>): void {
  for (const { kind, stepId, start, end } of activities) {
    if (stepId === undefined || (kind !== "motion" && kind !== "press")) continue;
    const time = end - start;
    const known = found.get(stepId);
    if (known === undefined)
      found.set(stepId, { shortest: time, longest: time, zones: new Set(), endZones: new Set() });
    else {
      known.shortest = Math.min(known.shortest, time);
      known.longest = Math.max(known.longest, time);
    }
  }
}

/** Boxes that come so near to each other are looked at more closely, m. */
const NEAR = 0.001;

class ZoneFinder {
  readonly #arm: Arm;
  readonly #armKey: number;
  readonly #memory: ClearanceMemory;
  readonly #builder: SceneBuilder;
  readonly #reaches: Reaches;
  /** Bodies of each zone. */
  readonly #zones: ReadonlyMap<string, readonly Element[] | undefined>;
  /** Zones met by one stretch of motion with the same bodies. */
  readonly #known = new Map<string, readonly string[]>();

  constructor(cell: Cell, arm: Arm, { meshes, memory = new ClearanceMemory(), builder }: StepMotionOptions) {
    this.#arm = arm;
    this.#armKey = memory.numberOf(armKeyOf(arm));
    this.#memory = memory;
    this.#builder = builder ?? createSceneBuilder(cell, arm, meshes, memory);
    this.#reaches = createReaches(arm);
    this.#zones = zoneElements(cell, memory, meshes);
  }

  /** Adds the zones of a move's steps. */
  add(move: MoveRecord<MotionFailure>, found: ReadonlyMap<string, Gathered>): void {
    if (this.#zones.size === 0 || !move.outcome.ok) return;
    const { held, q } = move.context;
    const motion = sweptOf(move);
    for (const [k, step] of move.steps.entries()) {
      const gathered = found.get(step.id);
      if (gathered === undefined) continue;
      if (motion === undefined) {
        for (const zone of this.#still(q, held)) {
          gathered.zones.add(zone);
          gathered.endZones.add(zone);
        }
        continue;
      }
      const from = k === 0 ? 0 : motion.ends[k - 1]!;
      const to = motion.ends[k]!;
      const key = `${this.#memory.numberOfObject(motion.object)}|${k}`;
      const stretch = move.steps.length === 1 ? motion.swept : between(motion.swept, from, to);
      for (const zone of this.#zonesOf(key, stretch, held)) gathered.zones.add(zone);
      const end = new Float64Array(this.#arm.n);
      motion.swept.position(to, end);
      for (const zone of this.#still(end, held)) gathered.endZones.add(zone);
    }
  }

  #still(q: Float64Array, held: ReadonlyMap<string, HeldPart>): readonly string[] {
    return this.#zonesOf(`still|${this.#armKey}|${q.join()}`, standing(q), held);
  }

  #zonesOf(key: string, motion: SweptMotion, held: ReadonlyMap<string, HeldPart>): readonly string[] {
    const carried = this.#builder.carried(held).filter(({ link }) => link! > 0);
    const whole = `zones|${key}|${carried.map(({ id }) => id).join()}`;
    let known = this.#known.get(whole);
    if (known === undefined) {
      const reach = this.#reaches.of(motion, carried, NEAR, this.#memory.reach(whole));
      known = [...this.#zones].flatMap(([zone, shapes]) => {
        if (shapes === undefined) return [zone];
        const pairs = shapes.flatMap((shape) => reach.near(shape).map((i) => [carried[i]!, shape] as const));
        return pairs.length > 0 && !this.#certainlyClear(motion, pairs) ? [zone] : [];
      });
      this.#known.set(whole, known);
    }
    return known;
  }

  #certainlyClear(motion: SweptMotion, pairs: readonly (readonly [Element, Element])[]): boolean {
    const elements = [...new Set(pairs.flat())];
    const { bodies, slides } = placed(elements);
    const indices = pairs.map(([a, b]) => [elements.indexOf(a), elements.indexOf(b)] as const);
    return createSweptScene(this.#arm, bodies, slides, indices).clear(motion, 0);
  }
}
