/** Inputs that a person works: given a time after they are awaited. */
import type { Signal } from "../cell/model.ts";
import { endOf, startOf } from "./log.ts";
import { timeAt } from "./pace.ts";
import { RANK } from "./queue.ts";
import type { World } from "./world.ts";

export class Operators {
  readonly #world: World;
  readonly #busy = new Set<string>();

  constructor(world: World) {
    this.#world = world;
  }

  /** The arm begins to wait, in `activity`, for the signal to have the level. */
  awaited(signal: Signal, level: boolean, activity: number): void {
    const { operator, name } = signal;
    const { board, queue, log, pace } = this.#world;
    if (operator === undefined || board.level(name) === level || this.#busy.has(name)) return;
    // An input that goes off by itself need not be taken away.
    if (!level && operator.hold !== undefined) return;
    this.#busy.add(name);
    const act = log.open(
      {
        lane: name,
        kind: "operator",
        label: level ? "gives" : "takes away",
        stepId: this.#world.step(),
        pass: this.#world.pass(),
        start: queue.now,
      },
      [startOf(activity)],
    );
    queue.schedule(queue.now + timeAt(operator.delay, pace), RANK.device, () => {
      this.#busy.delete(name);
      log.close(act, queue.now);
      board.set(name, level, endOf(act));
      const { hold } = operator;
      if (level && hold !== undefined)
        queue.schedule(queue.now + hold, RANK.device, () => board.set(name, false, endOf(act, hold)));
    });
  }
}
