/** The bodies of a cell at one moment of a routine, with the pairs of them that may meet: for swept clearance and for routes. */

import type { Arm } from "../../arm/index.ts";
import { machineDevices } from "../../cell/equipment.ts";
import type { Cell } from "../../cell/index.ts";
import type { MeshLibrary, Slide, SweptBody } from "../../clearance/index.ts";
import type { HeldPart, Resting, Situation } from "../../cycle/index.ts";
import { type CellElements, createElements, type Element } from "./elements.ts";
import { ClearanceMemory } from "./memory.ts";
import { settledPair } from "./settled-pairs.ts";

/** What decides which bodies there are, and where. */
export interface Moment {
  /** Parts in the grippers. */
  readonly held: ReadonlyMap<string, HeldPart>;
  /** Parts in the holders. */
  readonly resting: Resting;
  /** Where devices may stand; one that is not named stands at its start. */
  readonly devices: Situation;
}

export interface MovingScene {
  /** Names and more of the bodies, in the same order. */
  readonly elements: readonly Element[];
  readonly bodies: readonly SweptBody[];
  readonly slides: readonly Slide[];
  /** Pairs of indices; the first is carried by the arm. People's places are not among them. */
  readonly pairs: readonly (readonly [number, number])[];
}

export interface SceneBuilder {
  readonly elements: CellElements;
  /** Base, links, tool, grippers and held parts. The same list for the same parts. */
  carried(held: Moment["held"]): readonly Element[];
  /** Scene, machines, people's places, and devices where they may stand. The same list for the same map. */
  standing(devices: Situation): readonly Element[];
  /** Everything around the arm: what stands there and the parts in the holders. */
  around(resting: Resting, devices: Situation): readonly Element[];
  /** Whether two bodies of the arm can move against each other and are not settled by its build. */
  mayMeet(a: Element, b: Element): boolean;
  sceneFor(moment: Moment): MovingScene;
  /** Names of bodies that are never compared because they overlap in every state of the arm, so far as that has come up. */
  readonly alwaysOverlap: readonly (readonly [string, string])[];
}

export function createSceneBuilder(
  cell: Cell,
  arm: Arm,
  library?: MeshLibrary,
  memory = new ClearanceMemory(),
): SceneBuilder {
  const starts = new Map(
    machineDevices(cell)
      .filter((d) => d.shapes.length > 0)
      .map((d) => [d.name, d.start]),
  );
  const elements = createElements(cell, new Set(starts.keys()), memory, library);
  const carriedBy = new Map<string, readonly Element[]>();
  const meets = new Map<string, boolean>();
  const alwaysOverlap: [string, string][] = [];

  const carried: SceneBuilder["carried"] = (held) => {
    const key = [...held].map(([gripper, part]) => `${gripper}|${part.part}|${part.grip}`).join();
    let known = carriedBy.get(key);
    if (known === undefined) {
      known = [...elements.arm, ...[...held].flatMap(([gripper, part]) => elements.held(gripper, part))];
      carriedBy.set(key, known);
    }
    return known;
  };

  const standingBy = new WeakMap<Situation, readonly Element[]>();
  const standing: SceneBuilder["standing"] = (situation) => {
    let known = standingBy.get(situation);
    if (known === undefined) {
      const all = [...elements.fixed];
      for (const [name, start] of starts)
        for (const stretch of situation.get(name)?.stretches ?? [{ from: start, to: start }])
          all.push(...elements.device(name, stretch));
      known = all;
      standingBy.set(situation, known);
    }
    return known;
  };

  const around: SceneBuilder["around"] = (resting, situation) => {
    const all = [...standing(situation)];
    for (const [holder, places] of resting)
      places.forEach((part, place) => {
        if (part !== undefined) all.push(...elements.resting(holder, part).at(place));
      });
    return all;
  };

  const mayMeet: SceneBuilder["mayMeet"] = (a, b) => {
    if (a.link === undefined || b.link === undefined || Math.abs(a.link - b.link) < 2) return false;
    const key = a.id < b.id ? `${a.id}|${b.id}` : `${b.id}|${a.id}`;
    let known = meets.get(key);
    if (known === undefined) {
      const settled = settledPair(arm, cell.arm, a, b);
      // A part that always overlaps the arm is held wrongly: that is no matter of the arm's build.
      known =
        settled === undefined || (settled === "always overlap" && (a.group === "held part" || b.group === "held part"));
      if (!known && settled === "always overlap") alwaysOverlap.push([a.name, b.name]);
      meets.set(key, known);
    }
    return known;
  };

  const sceneFor: SceneBuilder["sceneFor"] = ({ held, resting, devices: situation }) => {
    const own = carried(held);
    const all = [...own, ...around(resting, situation).filter(({ group }) => group !== "person")];
    const pairs: [number, number][] = [];
    own.forEach((a, i) => {
      for (let j = i + 1; j < own.length; j++) if (mayMeet(a, own[j]!)) pairs.push([i, j]);
      if (a.link! > 0) for (let j = own.length; j < all.length; j++) pairs.push([i, j]);
    });
    return { elements: all, ...placed(all), pairs };
  };

  return { elements, carried, standing, around, mayMeet, sceneFor, alwaysOverlap };
}

/** Elements as the clearance floor takes them. */
export function placed(elements: readonly Element[]): { readonly bodies: SweptBody[]; readonly slides: Slide[] } {
  const slides: Slide[] = [];
  const known = new Map<string, number>();
  const bodies = elements.map(({ body, frame, frameFromBody, slide, device }): SweptBody => {
    if (slide === undefined) return { body, frame, frameFromBody };
    // Bodies of one device move together.
    const key = `${device?.name}|${device?.stretch.from}|${device?.stretch.to}`;
    let index = known.get(key);
    if (index === undefined) {
      index = slides.push(slide) - 1;
      known.set(key, index);
    }
    return { body, frame, frameFromBody, slide: index };
  });
  return { bodies, slides };
}
