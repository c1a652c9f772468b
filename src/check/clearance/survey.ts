/**
 * Clearance of the routine as it runs: every motion along its whole path, step by step, against all bodies that are there at that
 * moment wherever devices may stand, and the arm at rest while devices pass by.
 */
import type { Arm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import type { GoStep, PressStep } from "../../cell/steps.ts";
import { type MeshLibrary, standing } from "../../clearance/index.ts";
import { type CycleRun, type MoveRecord, type Situation, stretchKey, whereaboutsOf } from "../../cycle/index.ts";
import { armKeyOf, type MotionFailure } from "../../motion/index.ts";
import type { Element, RestingParts } from "./elements.ts";
import { type Contact, contactKey, isMeant, MEANT_OVERLAP, MeantContacts } from "./meant-contacts.ts";
import { ClearanceMemory, type SweptAnswer } from "./memory.ts";
import { between, createSweptMeter, type ElementPair, type MotionStretch, type SweptMeter } from "./meter.ts";
import { createSceneBuilder, type Moment, type SceneBuilder } from "./moving-scene.ts";
import { createReaches, type Reach } from "./reach.ts";
import { requiredClearance } from "./required.ts";
import { sweptOf } from "./swept-move.ts";

type Run = CycleRun<MotionFailure>;
type MotionStep = GoStep | PressStep;

/** Distances above this are told as such, m. */
const TOLD = 0.1;
/** Distances above this are not told at all, m. */
const FARTHEST = 10;
/** Pairs of one step that are told one by one. */
const MOST_PAIRS = 8;
/** How closely a distance is looked at that is as good as the one required, m. */
const FINE = 0.00001;

/** Two bodies as near as they come, and when. */
export interface Sighting {
  readonly step: MotionStep;
  readonly variant: string;
  readonly pair: ElementPair;
  /** The least distance lies in [lower, upper], m. */
  readonly lower: number;
  readonly upper: number;
  readonly required: number;
  /** Into the step, s; undefined while the arm stands and only devices move. */
  readonly time: number | undefined;
  /** Where the device of the second body is then, from the first to the second of its positions, 0 to 1. */
  readonly share: number;
  /** Points of the bodies nearest to each other, base axes, as `Distance`. */
  readonly witness: Float64Array;
  readonly q: Float64Array;
  readonly moment: Moment;
  /** Where the step goes, in words: "raw-tray, place 7". */
  readonly target: string;
  /** With the device at its destination instead: the least distance of the two bodies, m (at least, where `beyond`). */
  readonly settled?: { readonly position: string; readonly distance: number; readonly beyond: boolean };
}

/** What a finding is made of: two bodies that come too near in one step, at the place where they come nearest. */
export interface Encounter {
  readonly kind: "near" | "not certified" | "meant" | "person";
  worst: Sighting;
  /** Places (targets in words) at which they do. */
  readonly targets: Set<string>;
}

/** One step over all its runs. */
export interface StepSurvey {
  readonly step: MotionStep;
  readonly required: number;
  /** Certified: no distance in this step is below, m. */
  lower: number;
  /** The nearest; undefined: nothing within `beyond`. */
  nearest: Sighting | undefined;
  readonly beyond: number;
}

export interface Survey {
  readonly steps: readonly StepSurvey[];
  readonly encounters: readonly Encounter[];
  /** Steps that were run but whose motion could not be made. */
  readonly failed: readonly string[];
  /** There are bodies that could meet. */
  readonly compared: boolean;
  /** Least distance wanted by the cell, m. */
  readonly required: number;
  readonly builder: SceneBuilder;
  readonly work: SweptMeter["work"];
}

export interface SurveyOptions {
  readonly meshes?: MeshLibrary;
  readonly memory?: ClearanceMemory;
  /** Share of the work done, 0 to 1. */
  readonly onProgress?: (share: number) => void;
  readonly cancelled?: () => boolean;
}

/** @param runs per part variant its runs, the one that speaks first @returns undefined when cancelled */
export function surveyClearance(
  cell: Cell,
  arm: Arm,
  runs: readonly (readonly [Run, ...Run[]])[],
  options: SurveyOptions = {},
): Survey | undefined {
  const memory = options.memory ?? new ClearanceMemory();
  memory.tidy();
  const total = runs.flat().reduce((sum, run) => sum + run.moves.length, 0);
  for (let told = TOLD; ; told *= 8) {
    const surveyor = new Surveyor(cell, arm, memory, options.meshes, told);
    let done = 0;
    for (const variant of runs)
      for (const run of variant) {
        const walk = surveyor.follow(run, variant);
        while (!walk.next().done) {
          if (options.cancelled?.() === true) return undefined;
          options.onProgress?.(++done / Math.max(1, total));
        }
      }
    // A routine that keeps far from everything is asked for its nearest all the same.
    const found = surveyor.result();
    if (!found.compared || told > FARTHEST || found.steps.some(({ nearest }) => nearest !== undefined)) return found;
  }
}

class Surveyor {
  readonly #cell: Cell;
  readonly #arm: Arm;
  readonly #memory: ClearanceMemory;
  readonly #builder: SceneBuilder;
  readonly #meter: SweptMeter;
  readonly #reaches: ReturnType<typeof createReaches>;
  readonly #reach = new Map<string, Reach>();
  readonly #steps = new Map<string, StepSurvey>();
  readonly #encounters = new Map<string, Encounter>();
  readonly #failed = new Set<string>();
  readonly #seen = new Set<string>();
  readonly #keys = new WeakMap<object, string>();
  readonly #least: number;
  readonly #armKey: number;
  readonly #told: number;
  #compared = false;

  constructor(cell: Cell, arm: Arm, memory: ClearanceMemory, meshes: MeshLibrary | undefined, told: number) {
    this.#told = told;
    this.#cell = cell;
    this.#arm = arm;
    this.#memory = memory;
    this.#builder = createSceneBuilder(cell, arm, meshes, memory);
    this.#meter = createSweptMeter(arm, memory);
    this.#reaches = createReaches(arm);
    this.#least = requiredClearance(cell);
    this.#armKey = memory.numberOf(armKeyOf(arm));
  }

  result(): Survey {
    return {
      steps: [...this.#steps.values()],
      encounters: [...this.#encounters.values()],
      failed: [...this.#failed],
      compared: this.#compared,
      required: this.#least,
      builder: this.#builder,
      work: this.#meter.work,
    };
  }

  /** Measures every move of a run; yields after each. */
  *follow(run: Run, all: readonly [Run, ...Run[]]): Generator<void> {
    const places = whereaboutsOf(this.#cell, [run, ...all.filter((other) => other !== run)]);
    const meant = new MeantContacts(this.#cell, run);
    const rest = new Map(places.standing.map(({ after, situation }) => [after, situation]));
    const stand = (after: number) => {
      const situation = rest.get(after);
      if (situation !== undefined) this.#stand(run, after, situation, meant.standing(after));
    };
    stand(-1);
    for (const [index, move] of run.moves.entries()) {
      this.#restingKey(move.resting, run.moves[index - 1]?.resting);
      const motion = sweptOf(move);
      if (motion === undefined) {
        if (!move.outcome.ok) for (const step of move.steps) this.#failed.add(step.id);
      } else
        for (const [k, step] of move.steps.entries()) {
          const from = k === 0 ? 0 : motion.ends[k - 1]!;
          const stretch = {
            key: `${this.#memory.numberOfObject(motion.object)}|${k}`,
            motion: move.steps.length === 1 ? motion.swept : between(motion.swept, from, motion.ends[k]!),
          };
          const moment: Moment = { held: move.context.held, resting: move.resting, devices: places.moves[index]![k]! };
          this.#measure(step, run.variant, motion.targets[k] ?? "", stretch, moment, meant.of(index, k));
        }
      stand(index);
      yield;
    }
  }

  /** The arm at rest while devices pass. */
  #stand(run: Run, after: number, devices: Situation, contacts: readonly Contact[]): void {
    const before = run.moves[after];
    const next = run.moves[after + 1];
    const step = (before?.steps.at(-1) ?? next?.steps[0]) as MotionStep | undefined;
    if (step === undefined) return;
    const q = before === undefined ? Float64Array.from(this.#cell.home) : endOf(before);
    const { held } = (next ?? before!).context;
    const moment: Moment = { held, resting: new Map(), devices };
    const passing = [...devices].flatMap(([name, { stretches }]) =>
      stretches.flatMap((stretch) => this.#builder.elements.device(name, stretch)),
    );
    const stretch = { key: `still|${this.#armKey}|${q.join()}`, motion: standing(q) };
    this.#measure(step, run.variant, "", stretch, moment, contacts, passing);
  }

  #measure(
    step: MotionStep,
    variant: string,
    target: string,
    stretch: MotionStretch,
    moment: Moment,
    contacts: readonly Contact[],
    passing?: readonly Element[],
  ): void {
    const carried = this.#builder.carried(moment.held);
    // The same motion among the same bodies, at another pace: nothing new.
    const key = [
      step.id,
      variant,
      target,
      stretch.key,
      this.#listKey(carried),
      this.#keys.get(moment.resting) ?? "",
      this.#situationKey(moment.devices),
      passing === undefined,
      ...contacts.map(contactKey),
    ].join("|");
    if (this.#seen.has(key)) return;
    this.#seen.add(key);
    const around = passing ?? this.#builder.standing(moment.devices);
    const required = step.clearance ?? this.#least;
    const margin = Math.max(this.#told, required);
    const reach = this.#reachOf(stretch, carried, margin);
    const near: ElementPair[] = [],
      meant: ElementPair[] = [],
      people: ElementPair[] = [];
    if (passing === undefined)
      carried.forEach((a, i) => {
        for (let j = i + 1; j < carried.length; j++) {
          const b = carried[j]!;
          if (!this.#builder.mayMeet(a, b)) continue;
          this.#compared = true;
          if (reach.nearEachOther(i, j)) near.push([b, a]);
        }
      });
    const moves = carried.some(({ link }) => link! > 0);
    const compare = (other: Element) => {
      if (other.group !== "person") this.#compared ||= moves;
      for (const i of reach.near(other)) {
        const own = carried[i]!;
        if (own.link === 0) continue;
        (other.group === "person" ? people : isMeant(contacts, own, other) ? meant : near).push([own, other]);
      }
    };
    around.forEach(compare);
    for (const [holder, places] of moment.resting) this.#compareParts(holder, places, reach, compare);
    const survey = this.#surveyOf(step, required, margin);
    const sight = (pairs: readonly ElementPair[], found: SweptAnswer): Sighting => {
      const q = new Float64Array(this.#arm.n);
      stretch.motion.position(found.time, q);
      return {
        step,
        variant,
        pair: pairs[found.pair]!,
        lower: found.lower,
        upper: found.upper,
        required,
        time: passing === undefined ? found.time : undefined,
        share: found.share,
        witness: found.witness,
        q,
        moment,
        target,
      };
    };

    if (near.length > 0) {
      // A later place matters only if it is nearer than the nearest so far, or nearer than allowed.
      const cutoff = Math.max(required, Math.min(margin, survey.nearest?.upper ?? margin));
      const found = this.#meter.least(stretch, near, cutoff);
      survey.lower = Math.min(survey.lower, found.lower);
      if (found.pair >= 0 && found.upper < (survey.nearest?.upper ?? Number.POSITIVE_INFINITY))
        survey.nearest = sight(near, found);
      this.#gather(stretch, near, found, required, (pairs, answer) => sight(pairs, answer));
    }
    if (meant.length > 0) {
      const found = this.#meter.least(stretch, meant, -MEANT_OVERLAP);
      if (found.pair >= 0) this.#meet("meant", sight(meant, found), stretch);
    }
    if (people.length > 0) {
      const found = this.#meter.least(stretch, people, required);
      if (found.pair >= 0) this.#meet("person", sight(people, found), stretch);
    }
  }

  /** Parts in the places of a holder: a tray that the arm does not come near is left out as a whole. */
  #compareParts(
    holder: string,
    places: readonly (string | undefined)[],
    reach: Reach,
    compare: (other: Element) => void,
  ): void {
    let part: string | undefined;
    let parts: RestingParts | undefined;
    for (let place = 0; place < places.length; place++) {
      const here = places[place];
      if (here === undefined) continue;
      if (here !== part) {
        part = here;
        const all = this.#builder.elements.resting(holder, here);
        parts = reach.mayBeNear(all.box) ? all : undefined;
      }
      for (const other of parts?.at(place) ?? []) compare(other);
    }
  }

  /** Every pair that comes nearer than allowed, one kind of pair after the other. */
  #gather(
    stretch: MotionStretch,
    near: readonly ElementPair[],
    first: SweptAnswer,
    required: number,
    sight: (pairs: readonly ElementPair[], found: SweptAnswer) => Sighting,
  ): void {
    let pairs = near;
    let found = first;
    for (let k = 0; k < MOST_PAIRS; k++) {
      if (found.lower >= required) return;
      if (found.pair < 0 || found.upper >= required) {
        // As good as required: looked at more closely.
        const fine = this.#meter.least(stretch, pairs, required + FINE, FINE);
        if (fine.lower >= required) return;
        if (fine.pair < 0) return;
        this.#meet(fine.upper >= required ? "not certified" : "near", sight(pairs, fine), stretch);
        found = fine;
      } else this.#meet("near", sight(pairs, found), stretch);
      const [a, b] = pairs[found.pair]!;
      pairs = pairs.filter(([c, d]) => c.about !== a.about || d.about !== b.about);
      if (pairs.length === 0) return;
      found = this.#meter.least(stretch, pairs, required);
    }
  }

  #meet(kind: Encounter["kind"], sighting: Sighting, stretch: MotionStretch): void {
    const [a, b] = sighting.pair;
    const key = `${kind}|${sighting.step.id}|${a.about}|${b.about}`;
    const known = this.#encounters.get(key);
    known?.targets.add(sighting.target);
    if (known !== undefined && known.worst.upper <= sighting.upper) return;
    const settled = this.#withDeviceSettled(sighting, stretch);
    const worst = settled === undefined ? sighting : { ...sighting, settled };
    if (known === undefined) this.#encounters.set(key, { kind, worst, targets: new Set([sighting.target]) });
    else known.worst = worst;
  }

  /** The same two bodies with the device where it was sent. */
  #withDeviceSettled({ pair, moment }: Sighting, stretch: MotionStretch): Sighting["settled"] {
    const [own, other] = pair;
    if (other.slide === undefined || other.device === undefined) return undefined;
    const { name } = other.device;
    const position = moment.devices.get(name)?.target;
    if (position === undefined) return undefined;
    const there = this.#builder.elements
      .device(name, { from: position, to: position })
      .filter((element) => element.name === other.name);
    if (there.length === 0) return undefined;
    const found = this.#meter.least(
      stretch,
      there.map((element): ElementPair => [own, element]),
      TOLD,
    );
    return { position, distance: found.pair < 0 ? TOLD : found.upper, beyond: found.pair < 0 };
  }

  #surveyOf(step: MotionStep, required: number, beyond: number): StepSurvey {
    let known = this.#steps.get(step.id);
    if (known === undefined) {
      known = { step, required, lower: beyond, nearest: undefined, beyond };
      this.#steps.set(step.id, known);
    }
    return known;
  }

  #keyOf(object: object, text: () => string): string {
    let known = this.#keys.get(object);
    if (known === undefined) {
      known = String(this.#memory.numberOf(text()));
      this.#keys.set(object, known);
    }
    return known;
  }

  #listKey(elements: readonly Element[]): string {
    return this.#keyOf(elements, () => elements.map(({ id }) => id).join());
  }

  /**
   * Equal for equal contents, by what has changed since the contents before: whole contents of large trays would be long.
   * @param before the contents of the move before in the same run
   */
  #restingKey(resting: Moment["resting"], before: Moment["resting"] | undefined): string {
    return this.#keyOf(resting, () => {
      if (before === undefined) return JSON.stringify([...resting]);
      const changes: string[] = [];
      for (const [holder, places] of resting) {
        const old = before.get(holder);
        if (old === places) continue;
        places.forEach((part, place) => {
          if (part !== old?.[place]) changes.push(`${holder} ${place} ${part ?? ""}`);
        });
      }
      return `${this.#keys.get(before)}>${changes.join(";")}`;
    });
  }

  #situationKey(situation: Situation): string {
    return this.#keyOf(situation, () =>
      [...situation].map(([name, { stretches }]) => `${name}:${stretches.map(stretchKey).join()}`).join(";"),
    );
  }

  #reachOf(stretch: MotionStretch, carried: readonly Element[], margin: number): Reach {
    const key = `${stretch.key}|${this.#listKey(carried)}|${margin}`;
    let known = this.#reach.get(key);
    if (known === undefined) {
      known = this.#reaches.of(stretch.motion, carried, margin, this.#memory.reach(key));
      this.#reach.set(key, known);
    }
    return known;
  }
}

const endOf = ({ outcome }: MoveRecord<MotionFailure>): Float64Array => (outcome.ok ? outcome.end : outcome.resume);
