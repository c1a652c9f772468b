/** Where one device may stand, as far as commands, feedback and the time that has surely passed tell. */
import type { Device } from "../../cell/model.ts";
import { TIME_TOLERANCE } from "../pace.ts";

/** At a position (`from` equals `to`), or anywhere between two. */
export interface Stretch {
  readonly from: string;
  readonly to: string;
}

/** Where a device may stand. */
export interface Whereabouts {
  /** At least one; one with `from` equal to `to` when the position is known. */
  readonly stretches: readonly Stretch[];
  /** Where it is going, or stands; undefined when that is not known. */
  readonly target: string | undefined;
  /** Step that sent it there; undefined at the start or when its machine moves it. */
  readonly sentBy: string | undefined;
}

export class DeviceTrack {
  readonly device: Device;
  /** Where the last command sends it; undefined when commands cannot tell. */
  target: string | undefined;
  /** Processes of its machine that may be moving it. */
  readonly drivers = new Set<string>();
  /** Commanded by the controller since a process took it over. */
  commandedWhileDriven = false;
  readonly #scan: number;
  #standing: ReadonlySet<string>;
  /** Pairs of positions between which it may stand, each in the order of the device's positions. */
  #between: ReadonlyMap<string, Stretch> = new Map();
  /** Least time since it was last sent somewhere, and since the time before that. */
  #sinceSent = 0;
  #sinceLeft = 0;
  /** Its feedback at the target may still be seen from before. */
  #stale = false;
  #sentBy: string | undefined;
  #known: Whereabouts | undefined;

  constructor(device: Device, scan: number) {
    this.device = device;
    this.#scan = scan;
    this.target = device.start;
    this.#standing = new Set([device.start]);
  }

  get now(): Whereabouts {
    this.#known ??= {
      stretches: [
        ...this.#between.values(),
        ...[...this.#standing]
          .filter((at) => ![...this.#between.values()].some(({ from, to }) => from === at || to === at))
          .map((at) => ({ from: at, to: at })),
      ],
      target: this.target,
      sentBy: this.#sentBy,
    };
    return this.#known;
  }

  /** Sent to a position; `sure` false: it may as well not have reacted. */
  send(to: string, stepId: string | undefined, sure = true): void {
    if (sure && this.target === to) return;
    if (this.drivers.size > 0) this.commandedWhileDriven = true;
    // It may have left the position when it was sent somewhere else before; what is seen may be from then.
    this.#stale = this.#standing.has(to);
    this.#sinceLeft = this.#sinceSent;
    this.#widen([to]);
    this.target = sure && this.drivers.size === 0 ? to : undefined;
    this.#sentBy = stepId;
    this.#sinceSent = 0;
    this.pass(0);
  }

  /** Each pulse moves on to the next position. */
  sendOn(stepId: string, sure: boolean): void {
    const { positions } = this.device;
    if (this.target === undefined || !sure) {
      this.lose(stepId);
      return;
    }
    this.send(positions[(positions.indexOf(this.target) + 1) % positions.length]!, stepId);
  }

  /** Nothing is known any more. */
  lose(stepId?: string): void {
    this.#widen(this.device.positions);
    this.target = undefined;
    this.#sentBy = stepId;
    this.#sinceSent = 0;
  }

  /** A process may move it to any of the positions from now on. */
  drive(process: string, positions: readonly string[]): void {
    if (this.drivers.size === 0) this.commandedWhileDriven = false;
    this.drivers.add(process);
    this.#widen(positions);
    this.target = undefined;
    this.#sentBy = undefined;
    this.#sinceSent = 0;
  }

  /** The process is over and has left the device at a position. */
  driven(process: string, last: string): void {
    this.drivers.delete(process);
    this.#sinceSent = 0;
    if (this.drivers.size === 0 && !this.commandedWhileDriven) this.#settle(last);
  }

  /** Time has surely passed. */
  pass(seconds: number): void {
    this.#sinceSent += seconds;
    this.#sinceLeft += seconds;
    const { target } = this;
    if (target === undefined || this.drivers.size > 0 || this.#between.size === 0) return;
    if (this.#sinceSent >= (this.device.time.get(target)?.max ?? 0) - TIME_TOLERANCE) this.#settle(target);
  }

  /** The controller has seen the feedback of a position. */
  seen(position: string): void {
    if (position !== this.target || this.drivers.size > 0 || this.#between.size === 0) return;
    if (this.#stale && this.#sinceLeft < this.#scan - TIME_TOLERANCE) return;
    this.#settle(position);
  }

  #settle(at: string): void {
    this.#standing = new Set([at]);
    this.#between = new Map();
    this.target = at;
    this.#stale = false;
    this.#known = undefined;
  }

  /** It may move from wherever it may stand to any of the positions, and between them. */
  #widen(positions: readonly string[]): void {
    const all = new Set([...this.#standing, ...positions]);
    for (const { from, to } of this.#between.values()) all.add(from).add(to);
    const ordered = this.device.positions.filter((p) => all.has(p));
    const between = new Map(this.#between);
    const goals = new Set(positions);
    ordered.forEach((from, i) => {
      for (const to of ordered.slice(i + 1))
        if (goals.has(from) || goals.has(to)) between.set(`${from}|${to}`, { from, to });
    });
    this.#standing = all;
    this.#between = between;
    this.#known = undefined;
  }
}
