/**
 * Activities as they happen, and the network of what had to happen before what. Every activity has two events, its start
 * 2 i and its end 2 i + 1; an arc says that one event comes at least `lag` after another. A wait does no work of its own:
 * its end is where other activities let it go.
 */
import type { ActivityKind } from "./types.ts";

/** An event of an activity, and a time after it. */
export interface Cause {
  readonly event: number;
  readonly lag: number;
}

export const startOf = (activity: number, lag = 0): Cause => ({ event: 2 * activity, lag });
export const endOf = (activity: number, lag = 0): Cause => ({ event: 2 * activity + 1, lag });
export const later = (cause: Cause | undefined, lag: number): Cause | undefined =>
  cause === undefined ? undefined : { event: cause.event, lag: cause.lag + lag };

/** What is known of an activity when it begins. */
export interface Begun {
  readonly lane: string;
  readonly kind: ActivityKind;
  readonly label: string;
  /** The arm's step, or the step that started a device, process or operator. */
  readonly stepId: string | undefined;
  readonly pass: number;
  readonly start: number;
}

export class Draft {
  readonly index: number;
  readonly lane: string;
  readonly kind: ActivityKind;
  label: string;
  readonly stepId: string | undefined;
  readonly pass: number;
  start: number;
  /** Not before `start`; equal to it until the activity ends. */
  end: number;
  /** Least time from start to end that the activity itself needs; 0 for waits. */
  work = 0;
  ended = false;
  motion: unknown = undefined;

  constructor(index: number, begun: Begun) {
    this.index = index;
    this.lane = begun.lane;
    this.kind = begun.kind;
    this.label = begun.label;
    this.stepId = begun.stepId;
    this.pass = begun.pass;
    this.start = begun.start;
    this.end = begun.start;
  }
}

export interface Arc {
  readonly from: number;
  readonly to: number;
  readonly lag: number;
}

export class ActivityLog {
  readonly drafts: Draft[] = [];
  readonly arcs: Arc[] = [];
  /** Latest time of an event that something relied on without waiting for it. */
  readonly deadlines = new Map<number, number>();

  open(begun: Begun, causes: readonly (Cause | undefined)[]): number {
    const index = this.drafts.length;
    this.drafts.push(new Draft(index, begun));
    for (const cause of causes) this.link(cause, 2 * index);
    return index;
  }

  /** Ends an activity whose length is its own doing. */
  close(index: number, end: number): void {
    const draft = this.drafts[index]!;
    draft.end = end;
    draft.work = end - draft.start;
    draft.ended = true;
  }

  /** Ends an activity whose end is decided by others. */
  release(index: number, end: number, causes: readonly Cause[]): void {
    const draft = this.drafts[index]!;
    draft.end = end;
    draft.ended = true;
    for (const cause of causes) this.link(cause, 2 * index + 1);
  }

  link(cause: Cause | undefined, to: number): void {
    if (cause !== undefined) this.arcs.push({ from: cause.event, to, lag: cause.lag });
  }

  /** States that something which does not wait relied on the event having happened by `time`. */
  reliedOn(event: number, time: number): void {
    const known = this.deadlines.get(event);
    if (known === undefined || time < known) this.deadlines.set(event, time);
  }

  stepOf(cause: Cause | undefined): string | undefined {
    return cause === undefined ? undefined : this.drafts[cause.event >> 1]!.stepId;
  }

  /** Ends whatever still runs when the run is over. */
  closeAll(end: number): void {
    for (const draft of this.drafts) if (!draft.ended) this.close(draft.index, end);
  }
}
