/**
 * Watches movements that nothing reports: a device commanded to a position without feedback is only there for certain
 * once its longest time has passed. A dwell meant for it must last as long; after `hold` and `free`, and after working
 * the clamp that the arm stands at, the arm must not move before.
 */
import type { AwaitStep } from "../cell/steps.ts";
import { signalsIn } from "./board.ts";
import type { DeviceMove } from "./devices.ts";
import { TIME_TOLERANCE } from "./pace.ts";
import { inSeconds } from "./problems.ts";
import type { PlainStep } from "./walk.ts";
import { report, type World } from "./world.ts";

interface Unsure {
  readonly device: string;
  readonly position: string;
  readonly stepId: string;
  readonly since: number;
  readonly worst: number;
  /** A `hold` or `free` step: a motion must not follow too soon even without a dwell. */
  readonly jaws: boolean;
  /** For jaws that close: input that tells that a part is between them. */
  readonly confirmedBy: string | undefined;
  /** The arm has neither moved nor awaited anything since. */
  fresh: boolean;
  dwellId: string | undefined;
  activity: number | undefined;
}

export class SettleWatch {
  readonly #world: World;
  #unsure: Unsure[] = [];
  /** Clamping device of the holder that the arm stands at. */
  #atClamp: () => string | undefined;

  constructor(world: World, atClamp: () => string | undefined) {
    this.#world = world;
    this.#atClamp = atClamp;
  }

  /** `hold` or `free` without feedback was given. */
  jaws(device: string, position: string, stepId: string, worst: number, confirmedBy: string | undefined) {
    this.#add({
      device,
      position,
      stepId,
      since: this.#world.queue.now,
      worst,
      jaws: true,
      confirmedBy,
      fresh: true,
      dwellId: undefined,
      activity: undefined,
    });
  }

  /** A device begins to move on the controller's command. */
  moved(move: DeviceMove): void {
    const { device } = move.device;
    const known = this.#unsure.find((u) => u.device === device.name && u.jaws && u.position === move.to);
    if (known !== undefined) {
      known.activity = move.activity;
      return;
    }
    this.#unsure = this.#unsure.filter((u) => u.device !== device.name);
    if (move.byMachine || move.stepId === undefined || device.feedback.has(move.to)) return;
    this.#add({
      device: device.name,
      position: move.to,
      stepId: move.stepId,
      since: this.#world.queue.now,
      worst: move.device.worst(move.to),
      jaws: false,
      confirmedBy: undefined,
      fresh: true,
      dwellId: undefined,
      activity: move.activity,
    });
  }

  /** The arm comes to a step. */
  step(step: PlainStep): void {
    if (this.#unsure.length === 0) return;
    const now = this.#world.queue.now;
    if (step.kind === "dwell") {
      for (const unsure of this.#unsure) if (unsure.fresh) unsure.dwellId = step.id;
      return;
    }
    if (step.kind === "await") {
      this.#confirm(step);
      for (const unsure of this.#unsure) unsure.fresh = false;
      return;
    }
    const moves = step.kind === "go" || step.kind === "press";
    this.#unsure = this.#unsure.filter((unsure) => {
      const elapsed = now - unsure.since;
      const settled = elapsed >= unsure.worst - TIME_TOLERANCE;
      const matters = moves && (unsure.jaws || unsure.device === this.#atClamp());
      if (matters && unsure.activity !== undefined) this.#world.log.reliedOn(2 * unsure.activity + 1, now);
      if (moves) unsure.fresh = false;
      // Kept until the arm moves, which relies on it.
      if (settled) return !moves && (unsure.jaws || unsure.device === this.#atClamp());
      if (unsure.dwellId !== undefined) this.#tooShort(unsure, elapsed, unsure.dwellId);
      else if (matters) this.#missing(unsure, elapsed);
      else return true;
      return false;
    });
  }

  /** A part-present input awaited on stands for the closed jaws. */
  #confirm(step: AwaitStep): void {
    const wanted = signalsIn(step.condition);
    this.#unsure = this.#unsure.filter(
      (unsure) => unsure.confirmedBy === undefined || !wanted.some((w) => w.is && w.signal === unsure.confirmedBy),
    );
  }

  #add(unsure: Unsure): void {
    this.#unsure = this.#unsure.filter((u) => u.device !== unsure.device);
    if (unsure.worst > 0) this.#unsure.push(unsure);
  }

  #tooShort({ device, position, worst, stepId, jaws }: Unsure, elapsed: number, dwellId: string): void {
    report(this.#world, {
      code: "dwell-too-short",
      severity: jaws || device === this.#atClamp() ? "error" : "warning",
      stepId: dwellId,
      subject: device,
      message: `The dwell ends ${inSeconds(elapsed)} after ${stepId} told ${device} to become ${position}; it can take ${inSeconds(worst)} and no feedback tells when it is there.`,
      mend: `Lengthen the dwell by ${inSeconds(worst - elapsed)}, or fit a sensor and await it.`,
    });
  }

  #missing({ device, position, worst, stepId }: Unsure, elapsed: number): void {
    report(this.#world, {
      code: "dwell-missing",
      severity: "error",
      stepId,
      subject: device,
      message: `The arm moves ${inSeconds(elapsed)} after ${device} was told to become ${position}; it can take ${inSeconds(worst)} and no feedback tells when it is there.`,
      mend: `Add a dwell of at least ${inSeconds(worst)} after the step, or fit a sensor and await it.`,
    });
  }
}
