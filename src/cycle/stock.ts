/** Where the parts are: in the places of holders and in the grippers. */

import type { Feeds } from "../cell/feeds.ts";
import type { Cell } from "../cell/model.ts";
import type { HeldPart, PartToken, Resting } from "./types.ts";

export interface Spot {
  readonly holder: string;
  readonly place: number;
}

/** Where, when and by which step a part was left. */
export interface Left {
  readonly spot: Spot;
  readonly time: number;
  readonly pass: number;
  readonly stepId: string;
}

interface InGripper {
  readonly token: PartToken;
  readonly grip: string;
}

export class Stock {
  readonly #places = new Map<string, (PartToken | undefined)[]>();
  readonly #grippers = new Map<string, InGripper>();
  readonly #rest = new Map<PartToken, Left>();
  #held: ReadonlyMap<string, HeldPart> | undefined;
  #resting: Resting = new Map();
  #restingKnown = false;

  readonly feeds: Feeds;
  #nextId = 1;

  constructor(cell: Cell, feeds: Feeds) {
    this.feeds = feeds;
    for (const holder of cell.holders.values()) {
      this.#places.set(
        holder.name,
        holder.places.map(() => this.#fresh(holder.name)),
      );
    }
  }

  at(spot: Spot): PartToken | undefined {
    return this.#places.get(spot.holder)?.[spot.place];
  }

  /** A part that may hinder another from being put there: not one that an outfeed takes away. */
  inTheWay(spot: Spot): PartToken | undefined {
    return this.feeds.outfeeds.has(spot.holder) ? undefined : this.at(spot);
  }

  /** Takes the part away from the spot; an infeed brings the next one. */
  vacate(spot: Spot): void {
    const gone = this.at(spot);
    const next = gone !== undefined && this.feeds.infeeds.has(spot.holder);
    this.put(spot, next ? this.#fresh(spot.holder) : undefined);
  }

  #fresh(holder: string): PartToken | undefined {
    const start = this.feeds.starts.get(holder);
    return start && { id: this.#nextId++, part: start.part, stage: start.stage };
  }

  put(spot: Spot, token: PartToken | undefined): void {
    const places = this.#places.get(spot.holder);
    if (places !== undefined && spot.place < places.length) places[spot.place] = token;
    this.#restingKnown = false;
  }

  /** Parts in the places and in no gripper; the same map, and in it the same lists, until something changes there. */
  restingNow(): Resting {
    if (this.#restingKnown) return this.#resting;
    this.#restingKnown = true;
    let changed = false;
    const next = new Map<string, readonly (string | undefined)[]>();
    for (const [holder, places] of this.#places) {
      const known = this.#resting.get(holder);
      const now = places.map((token) =>
        token === undefined || this.gripperOf(token) !== undefined ? undefined : token.part,
      );
      const same = known?.every((part, i) => part === now[i]) === true;
      if (!same) changed = true;
      next.set(holder, same ? known : now);
    }
    if (changed) this.#resting = next;
    return this.#resting;
  }

  inGripper(gripper: string): PartToken | undefined {
    return this.#grippers.get(gripper)?.token;
  }

  /** Gripper that holds the part, if any. */
  gripperOf(token: PartToken): string | undefined {
    for (const [gripper, inside] of this.#grippers) if (inside.token === token) return gripper;
    return undefined;
  }

  take(gripper: string, token: PartToken, grip: string): void {
    this.#grippers.set(gripper, { token, grip });
    this.#rest.delete(token);
    this.#held = undefined;
    this.#restingKnown = false;
  }

  letGo(gripper: string): void {
    this.#grippers.delete(gripper);
    this.#held = undefined;
    this.#restingKnown = false;
  }

  /** Parts in the grippers; the same map until something is held, let go or changes its stage. */
  held(): ReadonlyMap<string, HeldPart> {
    if (this.#held === undefined) {
      const held = new Map<string, HeldPart>();
      for (const [gripper, { token, grip }] of this.#grippers)
        held.set(gripper, { part: token.part, stage: token.stage, grip });
      this.#held = held;
    }
    return this.#held;
  }

  restage(token: PartToken, stage: string): void {
    token.stage = stage;
    this.#held = undefined;
  }

  /** Notes that a part was left at a spot. */
  left(token: PartToken, left: Left): void {
    this.#rest.set(token, left);
  }

  /** Parts that were left somewhere and not taken up again, in order of time. */
  resting(): ({ readonly token: PartToken } & Left)[] {
    return [...this.#rest]
      .map(([token, left]) => ({ token, ...left }))
      .sort((a, b) => a.time - b.time || a.token.id - b.token.id);
  }
}
