/**
 * Events in time. At equal times the rank decides, then the order of scheduling, so that a run is the same every time:
 * devices and processes first, then what the controller sees, then the arm, then limits that pass.
 */
export const RANK = { device: 0, seen: 1, arm: 2, limit: 3 } as const;
export type Rank = (typeof RANK)[keyof typeof RANK];

export interface QueuedEvent {
  readonly time: number;
  readonly rank: Rank;
  readonly order: number;
  /** Undefined once cancelled. */
  act: (() => void) | undefined;
}

export class EventQueue {
  /** Time of the event being acted on, s. */
  now = 0;
  readonly #heap: QueuedEvent[] = [];
  #order = 0;

  schedule(time: number, rank: Rank, act: () => void): QueuedEvent {
    const event: QueuedEvent = { time: Math.max(time, this.now), rank, order: this.#order++, act };
    const heap = this.#heap;
    let i = heap.length;
    heap.push(event);
    while (i > 0) {
      const parent = (i - 1) >> 1;
      if (!before(event, heap[parent]!)) break;
      heap[i] = heap[parent]!;
      i = parent;
    }
    heap[i] = event;
    return event;
  }

  /** Acts on the next event that was not cancelled; false when there is none. */
  step(): boolean {
    for (;;) {
      const event = this.#pop();
      if (event === undefined) return false;
      if (event.act === undefined) continue;
      this.now = event.time;
      event.act();
      return true;
    }
  }

  #pop(): QueuedEvent | undefined {
    const heap = this.#heap;
    const top = heap[0];
    const last = heap.pop();
    if (top === undefined || last === undefined || heap.length === 0) return top;
    let i = 0;
    for (;;) {
      let child = 2 * i + 1;
      if (child >= heap.length) break;
      if (child + 1 < heap.length && before(heap[child + 1]!, heap[child]!)) child++;
      if (!before(heap[child]!, last)) break;
      heap[i] = heap[child]!;
      i = child;
    }
    heap[i] = last;
    return top;
  }
}

function before(a: QueuedEvent, b: QueuedEvent): boolean {
  if (a.time !== b.time) return a.time < b.time;
  if (a.rank !== b.rank) return a.rank < b.rank;
  return a.order < b.order;
}
