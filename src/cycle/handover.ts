/**
 * Parts changing hands between holders and grippers. A part counts as gripped once the jaws have closed, as let go as
 * soon as they begin to open, as clamped once the clamping device has reached its clamping position, and as released
 * by it for certain only when it has reached another one.
 */
import type { Holder } from "../cell/model.ts";
import type { DeviceMove, DeviceRun } from "./devices.ts";
import { endOf, startOf } from "./log.ts";
import { TIME_TOLERANCE } from "./pace.ts";
import { inSeconds } from "./problems.ts";
import type { SharedHold } from "./run.ts";
import type { Spot } from "./stock.ts";
import type { PartToken } from "./types.ts";
import { report, type World } from "./world.ts";

/** Where the last motion brought the arm. */
export interface ArmPlace extends Spot {
  readonly gripper: string;
  /** At the place itself, not displaced from it. */
  readonly exact: boolean;
}

interface Order {
  readonly spot: Spot;
  readonly grip: string;
  readonly stepId: string;
}

type Severity = "error" | "warning" | "caution";

export class Handover {
  /** Undefined when the arm is not known to be at a holder's place. */
  armAt: ArmPlace | undefined;
  readonly shared: SharedHold[] = [];
  readonly #world: World;
  readonly #devices: ReadonlyMap<string, DeviceRun>;
  readonly #holds = new Map<string, Order>();
  readonly #frees = new Map<string, Order>();
  readonly #open = new Map<PartToken, { gripper: string; spot: Spot; start: number }>();
  readonly #clampedHolders: { holder: Holder; clamp: DeviceRun }[] = [];

  constructor(world: World, devices: ReadonlyMap<string, DeviceRun>) {
    this.#world = world;
    this.#devices = devices;
    for (const gripper of world.cell.tool.grippers.values()) {
      const run = this.#jaws(gripper.name);
      run.onArrive.push((move) => move.to === "closed" && this.#closed(gripper.name, move));
      run.onLeave.push((move) => move.from === "closed" && this.#opening(gripper.name, move));
    }
    for (const holder of world.cell.holders.values()) {
      const clamp = holder.device === undefined ? undefined : devices.get(holder.device);
      if (clamp === undefined || clamp.device.clamps === undefined) continue;
      this.#clampedHolders.push({ holder, clamp });
      clamp.onLeave.push((move) => move.from === clamp.device.clamps && this.#unclamping(holder, move));
      clamp.onArrive.push((move) =>
        move.to === clamp.device.clamps ? this.#clamped(holder) : this.#unclamped(holder),
      );
    }
  }

  /** `hold` was given: when the jaws have closed they have the part at the spot. */
  expectHold(gripper: string, spot: Spot, grip: string, stepId: string): void {
    this.#holds.set(gripper, { spot, grip, stepId });
    this.#checkPlace(spot, stepId, "hold-away-from-place", "The gripper closes");
  }

  /** `free` was given: when the jaws open the part is left at the spot. */
  expectFree(gripper: string, spot: Spot, stepId: string): void {
    this.#frees.set(gripper, { spot, grip: "", stepId });
    this.#checkPlace(spot, stepId, "free-away-from-place", "The gripper opens");
  }

  /** The arm begins to move. */
  leave(stepId: string): void {
    for (const [token, { gripper, spot, start }] of [...this.#open]) {
      const clamp = this.#devices.get(this.#world.cell.holders.get(spot.holder)?.device ?? "");
      const state = clamp?.at === undefined ? `has not yet reached ${clamp?.target}` : `is ${clamp.at}`;
      this.#say("moved-while-both-hold", "error", stepId, gripper, {
        message: `The arm moves while ${gripper} and ${spot.holder} both hold the part: ${clamp?.device.name} ${state}, after ${inSeconds(this.#world.queue.now - start)} of holding together.`,
        mend: `Let go on one side and wait for it (feedback, or a dwell as long as the slowest actuation) before moving.`,
      });
      this.#endShare(token);
      this.#world.stock.put(spot, undefined);
    }
  }

  #closed(gripper: string, move: DeviceMove): void {
    const order = this.#holds.get(gripper);
    if (order === undefined) return;
    this.#holds.delete(gripper);
    const { stock, queue, board, cell } = this.#world;
    const { spot, stepId } = order;
    const token = stock.at(spot);
    if (token === undefined) {
      this.#say("hold-nothing", "error", stepId, gripper, {
        message: `${gripper} closes on nothing: ${spotName(this.#world, spot)} has no part.`,
        mend: "Check the order of the steps, what the holder has at the start, and the place of the tray.",
      });
      return;
    }
    const other = stock.gripperOf(token);
    if (other !== undefined) {
      this.#say("hold-already-held", "error", stepId, gripper, {
        message: `${gripper} closes on the part at ${spotName(this.#world, spot)}, which ${other} already holds.`,
        mend: `Free it from ${other} first.`,
      });
      this.#endShare(token);
      stock.letGo(other);
    }
    stock.take(gripper, token, order.grip);
    if (token.part !== this.#world.variant && stock.feeds.sources.has(spot.holder))
      this.#say("other-part", "warning", stepId, spot.holder, {
        message: `${gripper} takes a part ${token.part} from ${spotName(this.#world, spot)} while the routine runs for ${this.#world.variant}.`,
        mend: `Let ${spot.holder} start with ${this.#world.variant}, or name another holder for that part.`,
      });
    const clamp = this.#devices.get(cell.holders.get(spot.holder)?.device ?? "");
    const clamps = clamp?.device.clamps;
    if (clamp !== undefined && clamps !== undefined && (clamp.at === clamps || clamp.at === undefined))
      this.#open.set(token, { gripper, spot, start: queue.now });
    else stock.vacate(spot);
    const present = cell.tool.grippers.get(gripper)?.partPresent;
    if (present !== undefined) board.set(present, true, endOf(move.activity));
  }

  #opening(gripper: string, move: DeviceMove): void {
    const order = this.#frees.get(gripper);
    this.#frees.delete(gripper);
    this.#holds.delete(gripper);
    const { stock, board, cell, queue } = this.#world;
    const token = stock.inGripper(gripper);
    const present = cell.tool.grippers.get(gripper)?.partPresent;
    if (present !== undefined) board.set(present, false, startOf(move.activity));
    if (token === undefined) {
      if (order !== undefined)
        this.#say("free-nothing", "warning", order.stepId, gripper, {
          message: `${gripper} opens at ${spotName(this.#world, order.spot)} without holding a part.`,
          mend: "Check that the part was picked before, or put the step inside a `when` on the gripper.",
        });
      return;
    }
    stock.letGo(gripper);
    this.#endShare(token);
    if (order === undefined) {
      this.#say("part-dropped", "error", move.stepId, gripper, {
        message: `${gripper} is opened by a signal while it holds a part (${token.part}, ${token.stage}): the part is dropped.`,
        mend: "Open a gripper that holds a part with a `free` step, which says where the part is left.",
      });
      return;
    }
    const { spot, stepId } = order;
    const holder = cell.holders.get(spot.holder)!;
    const occupant = stock.inTheWay(spot);
    if (occupant !== undefined && occupant !== token) {
      this.#say("place-occupied", "error", stepId, spot.holder, {
        message: `A part is freed into ${spotName(this.#world, spot)}, where another one (${occupant.part}, ${occupant.stage}) already is.`,
        mend: `Take the other part away first, or free into another place.${holder.places.length > 1 ? ` To fill ${spot.holder} place by place, name it under \`place\` of the \`each\`.` : ""}`,
      });
      return;
    }
    if (holder.accepts.length > 0 && !holder.accepts.includes(token.part))
      this.#say("part-not-accepted", "error", stepId, spot.holder, {
        message: `${holder.name} takes ${holder.accepts.join(", ")}, but a part ${token.part} is freed into it.`,
        mend: `List ${token.part} under what ${holder.name} accepts, or use another holder for it.`,
      });
    stock.put(spot, token);
    stock.left(token, { spot, time: queue.now, pass: this.#world.pass(), stepId });
    this.#checkClamped(holder, spot, stepId, token);
  }

  #checkClamped(holder: Holder, spot: Spot, stepId: string, token: PartToken): void {
    const clamp = this.#devices.get(holder.device ?? "");
    const clamps = clamp?.device.clamps;
    if (clamp === undefined || clamps === undefined) return;
    if (clamp.at === clamps) {
      this.#reliesOn(clamp);
      return;
    }
    if (this.#world.stock.gripperOf(token) !== undefined) return;
    if (clamp.target === clamps) {
      if (this.#arrivesNow(clamp)) {
        this.#reliesOn(clamp);
        return;
      }
      const since = this.#world.queue.now - clamp.states.at(-1)!.time;
      this.#say("freed-before-clamped", "error", stepId, holder.name, {
        message: `The part is let go in ${spotName(this.#world, spot)} ${inSeconds(since)} after ${clamp.device.name} began to close, before it had clamped (it takes up to ${inSeconds(clamp.worst(clamps))}).`,
        mend: `Wait for ${clamp.device.name} ${clamps}: its feedback, or a dwell of at least ${inSeconds(clamp.worst(clamps))}.`,
      });
      return;
    }
    this.#say("freed-unclamped", "caution", stepId, holder.name, {
      message: `The part is let go in ${spotName(this.#world, spot)} while ${clamp.device.name} is ${clamp.at ?? `moving to ${clamp.target}`}: nothing clamps it.`,
      mend: `Clamp before freeing, unless the part rests there by itself.`,
    });
  }

  /** The clamping device begins to leave its clamping position. */
  #unclamping(holder: Holder, move: DeviceMove): void {
    holder.places.forEach((_, place) => {
      const spot = { holder: holder.name, place };
      const token = this.#world.stock.at(spot);
      if (token === undefined) return;
      const holding = this.#world.stock.gripperOf(token);
      if (holding !== undefined) {
        this.#reliesOn(this.#jaws(holding));
        return;
      }
      for (const [gripper, order] of this.#holds) {
        if (order.spot.holder !== holder.name || order.spot.place !== place) continue;
        const run = this.#jaws(gripper);
        if (this.#arrivesNow(run)) {
          this.#reliesOn(run);
          return;
        }
        this.#say("unclamped-before-held", "error", move.stepId, holder.name, {
          message: `${move.device.device.name} opens while ${gripper} is still closing on the part (it takes up to ${inSeconds(run.worst("closed"))}): nothing holds it.`,
          mend: `Wait for ${gripper}: its feedback, or a dwell of at least ${inSeconds(run.worst("closed"))}, before opening.`,
        });
        return;
      }
      if (!move.byMachine)
        this.#say("released-unheld", "caution", move.stepId, holder.name, {
          message: `${move.device.device.name} opens with a part (${token.part}, ${token.stage}) in ${holder.name} that no gripper holds.`,
          mend: "Close a gripper on the part before opening, unless it rests there by itself.",
        });
    });
  }

  /** The clamping device has reached another position: a part that a gripper holds is now only the gripper's. */
  #unclamped(holder: Holder): void {
    for (const [token, { spot }] of [...this.#open]) {
      if (spot.holder !== holder.name) continue;
      this.#endShare(token);
      this.#world.stock.put(spot, undefined);
    }
  }

  /** The clamping device has clamped: if the arm holds a part there, both hold it now. */
  #clamped(holder: Holder): void {
    const { armAt } = this;
    if (armAt === undefined || !armAt.exact || armAt.holder !== holder.name) return;
    const { stock, queue } = this.#world;
    const token = stock.inGripper(armAt.gripper);
    if (token === undefined || stock.at(armAt) !== undefined) return;
    const spot = { holder: armAt.holder, place: armAt.place };
    stock.put(spot, token);
    this.#open.set(token, { gripper: armAt.gripper, spot, start: queue.now });
  }

  #jaws(gripper: string): DeviceRun {
    return this.#devices.get(this.#world.cell.tool.grippers.get(gripper)!.device.name)!;
  }

  /** The longest time has passed: only the rounding of a sum lets the arrival come after what happens now. */
  #arrivesNow(run: DeviceRun): boolean {
    return this.#world.queue.now - run.states.at(-1)!.time >= run.worst(run.target) - TIME_TOLERANCE;
  }

  /** What happens now is right only because the device has arrived, whether or not anything waited for it. */
  #reliesOn(run: DeviceRun): void {
    if (run.lastMove !== undefined) this.#world.log.reliedOn(2 * run.lastMove + 1, this.#world.queue.now);
  }

  #checkPlace(spot: Spot, stepId: string, code: string, what: string): void {
    const { armAt } = this;
    if (armAt === undefined || (armAt.holder === spot.holder && armAt.place === spot.place)) return;
    this.#say(code, "error", stepId, spot.holder, {
      message: `${what} for ${spotName(this.#world, spot)}, but the last motion went to ${spotName(this.#world, armAt)}.`,
      mend: "Name the holder and place to which the arm has gone.",
    });
  }

  #endShare(token: PartToken): void {
    const share = this.#open.get(token);
    if (share === undefined) return;
    this.#open.delete(token);
    const { gripper, spot, start } = share;
    this.shared.push({ token: token.id, gripper, holder: spot.holder, start, end: this.#world.queue.now });
  }

  #say(
    code: string,
    severity: Severity,
    stepId: string | undefined,
    subject: string,
    text: { message: string; mend: string },
  ): void {
    report(this.#world, { code, severity, stepId, subject, ...text });
  }
}

/** "raw-tray place 3" (counted from 1), or the holder's name when it has one place. */
function spotName(world: World, spot: Spot): string {
  const holder = world.cell.holders.get(spot.holder);
  return holder === undefined || holder.places.length === 1 ? spot.holder : `${spot.holder} place ${spot.place + 1}`;
}
