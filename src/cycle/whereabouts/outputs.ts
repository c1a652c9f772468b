/** Outputs as the routine switches them, and what that asks of devices and processes. */
import type { Cell, Device } from "../../cell/model.ts";
import { TIME_TOLERANCE } from "../pace.ts";
import type { DeviceTrack } from "./device-track.ts";
import type { ProcessTrack } from "./process-track.ts";

/** A change of an output by a step of the arm. */
export interface Edge {
  readonly signal: string;
  readonly level: boolean;
  readonly stepId: string;
  /** Time of the run. */
  readonly time: number;
  /** How long the level lasts, when the step says so. */
  readonly lasts?: number;
}

type Listener = (edge: Edge) => void;

export class Outputs {
  readonly #levels = new Map<string, boolean>();
  readonly #listeners = new Map<string, Listener[]>();
  readonly #scan: number;

  constructor(
    cell: Cell,
    devices: Iterable<DeviceTrack>,
    processes: Iterable<ProcessTrack>,
    doubtful: Pick<ReadonlySet<string>, "has">,
  ) {
    this.#scan = cell.controller.scan;
    for (const signal of cell.signals.values())
      if (signal.direction === "output") this.#levels.set(signal.name, signal.initial);
    for (const track of devices) this.#connect(track);
    for (const track of processes) {
      const { start } = track.process;
      if (start.style === "level")
        this.#listen(start.signal, ({ level, stepId }) => level && track.start(!doubtful.has(stepId)));
      else this.#onPulse(start.signal, start.width, (edge, sure) => track.start(sure && !doubtful.has(edge.stepId)));
    }
  }

  set(edge: Edge): void {
    if (this.#levels.get(edge.signal) === edge.level || !this.#levels.has(edge.signal)) return;
    this.#levels.set(edge.signal, edge.level);
    for (const told of this.#listeners.get(edge.signal) ?? []) told(edge);
  }

  #listen(signal: string, listener: Listener): void {
    const known = this.#listeners.get(signal);
    if (known === undefined) this.#listeners.set(signal, [listener]);
    else known.push(listener);
  }

  #connect(track: DeviceTrack): void {
    const { command } = track.device;
    switch (command.style) {
      case "level": {
        const { on, off } = command;
        this.#listen(command.signal, ({ level, stepId }) => track.send(level ? on : off, stepId));
        // A held output that asks for another position moves the device at power-up.
        track.send(this.#levels.get(command.signal) === true ? on : off, undefined);
        break;
      }
      case "pair": {
        const wanted = (signals: PairSignals) => {
          const on = [...signals].filter(([, signal]) => this.#levels.get(signal) === true);
          return on.length === 1 ? on[0]![0] : undefined;
        };
        for (const signal of command.signals.values())
          this.#listen(signal, ({ stepId }) => {
            const to = wanted(command.signals);
            if (to !== undefined) track.send(to, stepId);
          });
        const first = wanted(command.signals);
        if (first !== undefined) track.send(first, undefined);
        break;
      }
      case "pulse":
        for (const [position, signal] of command.signals)
          this.#onPulse(
            signal,
            command.width,
            (edge, sure) => track.send(position, edge.stepId, sure),
            (edge) => track.lose(edge.stepId),
          );
        break;
      case "toggling pulse":
        this.#onPulse(
          command.signal,
          command.width,
          (edge, sure) => track.sendOn(edge.stepId, sure),
          (edge) => track.lose(edge.stepId),
        );
        break;
      case "none":
        break;
    }
  }

  /** `accept` at a rising edge, unsure when it may not be reacted to; `doubt` when it turns out afterwards to have been too short. */
  #onPulse(
    signal: string,
    width: number,
    accept: (edge: Edge, sure: boolean) => void,
    doubt: (edge: Edge) => void = () => {},
  ): void {
    let rose = Number.NEGATIVE_INFINITY,
      fell = Number.NEGATIVE_INFINITY;
    this.#listen(signal, (edge) => {
      if (!edge.level) {
        fell = edge.time;
        if (edge.time - rose < width - TIME_TOLERANCE) doubt(edge);
        return;
      }
      rose = edge.time;
      const close = edge.time - fell < this.#scan - TIME_TOLERANCE;
      accept(edge, !close && (edge.lasts === undefined || edge.lasts >= width - TIME_TOLERANCE));
    });
  }
}

type PairSignals = Extract<Device["command"], { style: "pair" }>["signals"];
