import fc from "fast-check";
import { expect, it } from "vitest";
import { EventQueue, RANK, type Rank } from "./queue.ts";

it("acts in the order of time, then rank, then scheduling, cancelled events left out", () => {
  const event = fc.record({
    time: fc.integer({ min: 0, max: 5 }),
    rank: fc.constantFrom<Rank>(RANK.device, RANK.seen, RANK.arm, RANK.limit),
    cancelled: fc.boolean(),
  });
  fc.assert(
    fc.property(fc.array(event, { maxLength: 60 }), (events) => {
      const queue = new EventQueue();
      const acted: number[] = [];
      const queued = events.map((e, i) =>
        queue.schedule(e.time, e.rank, () => {
          expect(queue.now).toBe(e.time);
          acted.push(i);
        }),
      );
      events.forEach((e, i) => {
        if (e.cancelled) queued[i]!.act = undefined;
      });
      while (queue.step());
      const expected = events
        .map((e, i) => ({ ...e, i }))
        .filter((e) => !e.cancelled)
        .sort((a, b) => a.time - b.time || a.rank - b.rank || a.i - b.i)
        .map((e) => e.i);
      expect(acted).toEqual(expected);
    }),
    { seed: 20261125, numRuns: 300 },
  );
});

it("never goes back in time", () => {
  const queue = new EventQueue();
  const times: number[] = [];
  queue.schedule(2, RANK.arm, () => queue.schedule(1, RANK.arm, () => times.push(queue.now)));
  while (queue.step());
  expect(times).toEqual([2]);
});
