/** What a process of a machine may be doing to the devices that the machine moves itself. */
import type { Process } from "../../cell/model.ts";
import { TIME_TOLERANCE } from "../pace.ts";
import type { DeviceTrack } from "./device-track.ts";

export class ProcessTrack {
  readonly process: Process;
  readonly #scan: number;
  /** Positions to which it moves each tracked device, in order. */
  readonly #moves = new Map<DeviceTrack, string[]>();
  #active = false;
  #starts = 0;
  #sinceStart = 0;
  /** Seen since the start: that it is not complete, that it runs. */
  #seenOff = false;
  #seenRunning = false;
  /** Starts that the machine may have refused. */
  #doubtful = false;

  constructor(process: Process, devices: ReadonlyMap<string, DeviceTrack>, scan: number) {
    this.process = process;
    this.#scan = scan;
    for (const { device, position } of [...process.before, ...process.after]) {
      const track = devices.get(device);
      if (track === undefined) continue;
      const known = this.#moves.get(track);
      if (known === undefined) this.#moves.set(track, [position]);
      else known.push(position);
    }
  }

  get movesSomething(): boolean {
    return this.#moves.size > 0;
  }

  /** Its start signal has been given; `sure` false: it may not have reacted. */
  start(sure: boolean): void {
    this.#doubtful = !sure || this.#active;
    this.#active = true;
    this.#starts++;
    this.#sinceStart = 0;
    this.#seenOff = false;
    this.#seenRunning = false;
    for (const [track, positions] of this.#moves) track.drive(this.process.name, positions);
  }

  pass(seconds: number): void {
    this.#sinceStart += seconds;
  }

  /** The controller has seen an input at a level. */
  seen(signal: string, level: boolean): void {
    if (!this.#active) return;
    const { done, running } = this.process;
    if (signal === running) {
      if (level) this.#seenRunning = true;
      else if (this.#seenRunning) this.#complete();
    }
    if (signal !== done?.signal) return;
    if (!level) this.#seenOff = true;
    else if (this.#seenOff || this.#starts === 1 || this.#isFresh(done)) this.#complete();
  }

  /** The completion seen is not that of an earlier run. */
  #isFresh(done: NonNullable<Process["done"]>): boolean {
    // A start by level may come only later, when the needs are met.
    if (this.process.start.style === "level") return false;
    const lasts = done.style === "pulse" ? done.width : 0;
    return this.#sinceStart >= this.#scan + lasts - TIME_TOLERANCE;
  }

  #complete(): void {
    if (this.#doubtful) return;
    this.#active = false;
    for (const [track, positions] of this.#moves) track.driven(this.process.name, positions.at(-1)!);
  }
}
