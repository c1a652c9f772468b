/**
 * Signal levels as they are and as the arm controller sees them. Outputs act at once. A changed input is seen one scan
 * time after the change: the longest it can take. An input that changes back sooner than that is taken as not seen.
 */
import type { Signal } from "../cell/model.ts";
import type { SignalCondition } from "../cell/steps.ts";
import { type Cause, later } from "./log.ts";
import { TIME_TOLERANCE } from "./pace.ts";
import { type EventQueue, type QueuedEvent, RANK } from "./queue.ts";
import type { SignalEdge, SignalTrace } from "./run.ts";

interface Line {
  readonly signal: Signal;
  level: boolean;
  seen: boolean;
  changedAt: number;
  seenAt: number;
  cause: Cause | undefined;
  seenCause: Cause | undefined;
  pending: QueuedEvent | undefined;
  readonly initial: boolean;
  readonly edges: SignalEdge[];
}

/** Level before anything happens: what an output is after power-up, what an unchanging input always is. */
const startLevel = (signal: Signal): boolean => signal.constant ?? signal.initial;

/** `stays`: how long the level will last, s, when that is known beforehand. */
export type OutputListener = (level: boolean, cause: Cause | undefined, stays: number | undefined) => void;

export class SignalBoard {
  readonly #lines = new Map<string, Line>();
  readonly #listeners = new Map<string, OutputListener[]>();
  readonly #queue: EventQueue;
  readonly #scan: number;
  /** Called when the controller sees a change. */
  onSeen: () => void = () => {};
  /** Called when an input was on for less than a scan time. */
  onMissed: (signal: string, width: number, cause: Cause | undefined) => void = () => {};

  constructor(signals: ReadonlyMap<string, Signal>, scan: number, queue: EventQueue) {
    this.#queue = queue;
    this.#scan = scan;
    for (const signal of signals.values()) {
      this.#lines.set(signal.name, {
        signal,
        level: startLevel(signal),
        seen: startLevel(signal),
        changedAt: Number.NEGATIVE_INFINITY,
        seenAt: Number.NEGATIVE_INFINITY,
        cause: undefined,
        seenCause: undefined,
        pending: undefined,
        initial: startLevel(signal),
        edges: [],
      });
    }
  }

  listen(signal: string, listener: OutputListener): void {
    const known = this.#listeners.get(signal);
    if (known === undefined) this.#listeners.set(signal, [listener]);
    else known.push(listener);
  }

  /** Level of an input at power-up, before anything has happened. */
  preset(signal: string, level: boolean): void {
    const line = this.#lines.get(signal);
    if (line === undefined) return;
    line.level = level;
    line.seen = level;
  }

  set(signal: string, level: boolean, cause: Cause | undefined, stays?: number): void {
    const line = this.#lines.get(signal);
    if (line === undefined || line.level === level) return;
    const now = this.#queue.now;
    line.edges.push({ time: now, level });
    line.level = level;
    const held = now - line.changedAt;
    const before = line.cause;
    line.changedAt = now;
    line.cause = cause;
    if (line.signal.direction === "output") {
      line.seen = level;
      line.seenAt = now;
      line.seenCause = cause;
      for (const listener of this.#listeners.get(signal) ?? []) listener(level, cause, stays);
      return;
    }
    if (line.pending !== undefined && held < this.#scan - TIME_TOLERANCE) {
      line.pending.act = undefined;
      line.pending = undefined;
      if (!level) this.onMissed(signal, held, before);
      if (line.seen === level) return;
    }
    const pending: QueuedEvent = this.#queue.schedule(now + this.#scan, RANK.seen, () => {
      if (line.pending === pending) line.pending = undefined;
      if (line.seen === level) return;
      line.seen = level;
      line.seenAt = this.#queue.now;
      line.seenCause = later(cause, this.#scan);
      this.onSeen();
    });
    line.pending = pending;
  }

  level(signal: string): boolean {
    return this.#lines.get(signal)?.level ?? false;
  }

  seen(signal: string): boolean {
    return this.#lines.get(signal)?.seen ?? false;
  }

  /** Last time at which the signal went to the level, undefined when it never did in this run. */
  lastEdge(signal: string, level: boolean): number | undefined {
    return this.#lines.get(signal)?.edges.findLast((edge) => edge.level === level)?.time;
  }

  holds(condition: SignalCondition): boolean {
    return test(condition, (signal) => this.seen(signal));
  }

  /** Whether the condition holds on the levels as they are, ahead of the controller. */
  holdsNow(condition: SignalCondition): boolean {
    return test(condition, (signal) => this.level(signal));
  }

  /** What made a condition that holds come true, and when (−∞: from the start on). Of several ways, the one that came first. */
  madeTrueBy(condition: SignalCondition): { at: number; causes: Cause[] } {
    if (condition.kind === "signal") {
      const line = this.#lines.get(condition.signal);
      if (line === undefined) return { at: Number.NEGATIVE_INFINITY, causes: [] };
      return { at: line.seenAt, causes: line.seenCause === undefined ? [] : [line.seenCause] };
    }
    if (condition.kind === "all") {
      const parts = condition.of.map((c) => this.madeTrueBy(c));
      return {
        at: parts.reduce((at, p) => Math.max(at, p.at), Number.NEGATIVE_INFINITY),
        causes: parts.flatMap((p) => p.causes),
      };
    }
    const ways = condition.of.filter((c) => this.holds(c)).map((c) => this.madeTrueBy(c));
    return ways.reduce((first, way) => (way.at < first.at ? way : first), ways[0] ?? { at: 0, causes: [] });
  }

  traces(): SignalTrace[] {
    return [...this.#lines.values()].map((line) => ({
      signal: line.signal.name,
      initial: line.initial,
      edges: line.edges,
    }));
  }
}

function test(condition: SignalCondition, levelOf: (signal: string) => boolean): boolean {
  switch (condition.kind) {
    case "signal":
      return levelOf(condition.signal) === condition.is;
    case "all":
      return condition.of.every((c) => test(c, levelOf));
    case "any":
      return condition.of.some((c) => test(c, levelOf));
  }
}

/** Signals named in a condition, each with the level wanted, in order of writing. */
export function signalsIn(condition: SignalCondition): { signal: string; is: boolean }[] {
  return condition.kind === "signal" ? [condition] : condition.of.flatMap((c) => signalsIn(c));
}
