/**
 * The activity network of a run and its longest paths: the critical path method on events.
 *
 * Model: every activity has a start and an end event, joined by an arc as long as the activity's own work; arcs between
 * activities say how long after one event another may come. Forward, an event's early time is the largest of
 * (predecessor's early time + arc). Backward from the end T of the run, its late time is the smallest of (successor's late
 * time - arc). Total float of an activity = late end - early end.
 *
 * @source Kelley & Walker, "Critical-path planning and scheduling", 1959 (from memory); arcs with lags as in precedence
 * diagrams (start-to-start, finish-to-start, finish-to-finish).
 */
import { ContractError } from "../math/contract-error.ts";
import type { Arc } from "./log.ts";

/** What the network needs to know about an activity. */
export interface NetworkActivity {
  readonly start: number;
  readonly end: number;
  readonly work: number;
}

export interface Network {
  readonly activities: readonly NetworkActivity[];
  /** Time at which each event happened: start of activity i at 2 i, end at 2 i + 1. */
  readonly time: Float64Array;
  /** Events so that each comes after all its predecessors, in order of time. */
  readonly order: Int32Array;
  /** Successors of event e: indices first[e] to first[e + 1] into `to` and `lag`. */
  readonly first: Int32Array;
  readonly to: Int32Array;
  readonly lag: Float64Array;
  /** Arcs between activities that lead to event e: indices firstInto[e] to firstInto[e + 1] into `from` and `lagInto`. */
  readonly firstInto: Int32Array;
  readonly from: Int32Array;
  readonly lagInto: Float64Array;
}

/** @throws ContractError when the arcs form a circle (no run of time can do that) */
export function buildNetwork(activities: readonly NetworkActivity[], arcs: readonly Arc[]): Network {
  const n = 2 * activities.length;
  const time = new Float64Array(n);
  activities.forEach((a, i) => {
    time[2 * i] = a.start;
    time[2 * i + 1] = a.end;
  });
  const first = new Int32Array(n + 1);
  for (let i = 0; i < activities.length; i++) first[2 * i + 1]!++;
  for (const arc of arcs) first[arc.from + 1]!++;
  for (let e = 0; e < n; e++) first[e + 1]! += first[e]!;
  const fill = first.slice(0, n);
  const to = new Int32Array(activities.length + arcs.length);
  const lag = new Float64Array(to.length);
  const add = (from: number, target: number, by: number) => {
    const k = fill[from]!++;
    to[k] = target;
    lag[k] = by;
  };
  activities.forEach((a, i) => {
    add(2 * i, 2 * i + 1, a.work);
  });
  for (const arc of arcs) add(arc.from, arc.to, arc.lag);
  return { activities, time, order: orderEvents(time, first, to), first, to, lag, ...arcsInto(n, arcs) };
}

function arcsInto(n: number, arcs: readonly Arc[]): Pick<Network, "firstInto" | "from" | "lagInto"> {
  const firstInto = new Int32Array(n + 1);
  for (const arc of arcs) firstInto[arc.to + 1]!++;
  for (let e = 0; e < n; e++) firstInto[e + 1]! += firstInto[e]!;
  const fill = firstInto.slice(0, n);
  const from = new Int32Array(arcs.length);
  const lagInto = new Float64Array(arcs.length);
  for (const arc of arcs) {
    const k = fill[arc.to]!++;
    from[k] = arc.from;
    lagInto[k] = arc.lag;
  }
  return { firstInto, from, lagInto };
}

/** By time; within one instant so that causes come before effects. */
function orderEvents(time: Float64Array, first: Int32Array, to: Int32Array): Int32Array {
  const n = time.length;
  const byTime = Int32Array.from({ length: n }, (_, e) => e).sort((a, b) => time[a]! - time[b]! || a - b);
  const order = new Int32Array(n);
  const open = new Int32Array(n);
  for (let k = 0; k < to.length; k++) open[to[k]!]!++;
  const ready: number[] = [];
  let placed = 0;
  for (let begin = 0; begin < n; ) {
    let end = begin + 1;
    while (end < n && time[byTime[end]!] === time[byTime[begin]!]) end++;
    ready.length = 0;
    for (let i = begin; i < end; i++) if (open[byTime[i]!] === 0) ready.push(byTime[i]!);
    for (let r = 0; r < ready.length; r++) {
      const event = ready[r]!;
      order[placed++] = event;
      for (let k = first[event]!; k < first[event + 1]!; k++) {
        const next = to[k]!;
        if (--open[next]! === 0 && time[next] === time[event]) ready.push(next);
      }
    }
    if (placed !== end)
      throw new ContractError(
        `buildNetwork: at ${time[byTime[begin]!]} s an activity comes before something that it waits for, or activities wait for each other`,
      );
    begin = end;
  }
  return order;
}

/** Early times: each event as soon as its predecessors allow, events without any at the time at which they happened. s. */
export function earlyTimes(network: Network): Float64Array {
  const { time, order, first, to, lag } = network;
  const early = new Float64Array(time.length).fill(Number.NEGATIVE_INFINITY);
  for (const event of order) {
    if (early[event] === Number.NEGATIVE_INFINITY) early[event] = time[event]!;
    for (let k = first[event]!; k < first[event + 1]!; k++) {
      const at = early[event]! + lag[k]!;
      if (at > early[to[k]!]!) early[to[k]!] = at;
    }
  }
  return early;
}

/** Late times against one event that must not come later than it did; Infinity where nothing leads to it. s. */
export function lateTimes(network: Network, against: number): Float64Array {
  const { time, order, first, to, lag } = network;
  const late = new Float64Array(time.length).fill(Number.POSITIVE_INFINITY);
  late[against] = time[against]!;
  for (let i = order.length - 1; i >= 0; i--) {
    const event = order[i]!;
    let at = late[event]!;
    for (let k = first[event]!; k < first[event + 1]!; k++) at = Math.min(at, late[to[k]!]! - lag[k]!);
    late[event] = at;
  }
  return late;
}

/** Longest paths from one event, among events up to a time: added lengths, -Infinity where there is no path. s. */
export function longestFrom(
  network: Network,
  event: number,
  position: Int32Array,
  until: number,
  out: Float64Array,
): void {
  const { time, order, first, to, lag } = network;
  out.fill(Number.NEGATIVE_INFINITY);
  out[event] = 0;
  for (let i = position[event]!; i < order.length; i++) {
    const from = order[i]!;
    if (time[from]! > until) break;
    const length = out[from]!;
    if (length === Number.NEGATIVE_INFINITY) continue;
    for (let k = first[from]!; k < first[from + 1]!; k++) {
      const at = length + lag[k]!;
      if (at > out[to[k]!]!) out[to[k]!] = at;
    }
  }
}

/** Where each event stands in the order. */
export function positionsOf(network: Network): Int32Array {
  const position = new Int32Array(network.order.length);
  network.order.forEach((event, i) => {
    position[event] = i;
  });
  return position;
}
