import { describe, expect, it } from "vitest";
import { Calendar, WEEK } from "./calendar.ts";
import { always, type DaysModel } from "./model.ts";
import { replicateDays } from "./replicate.ts";
import { simulateDays } from "./simulate.ts";

/** A cell whose routine takes 60 s per part, attended around the clock. */
const line: DaysModel = {
  stations: [{ name: "cell", machining: always(0), service: always(60) }],
  order: "in turn",
  stops: [],
  toolChanges: [],
  refill: undefined,
  shift: { hours: 8, perDay: 3, daysPerWeek: 7 },
  people: { count: 1, response: always(0) },
  unattended: false,
  scrap: 0,
};
const twoShifts = { hours: 8, perDay: 2, daysPerWeek: 5 };
const lost = (r: ReturnType<typeof simulateDays>) =>
  r.producing + r.refilling + [...r.stopped, ...r.changed].reduce((a, b) => a + b, 0);

describe("calendar", () => {
  const calendar = new Calendar(twoShifts);
  it("two shifts on five days", () => {
    expect(calendar.attendedHours).toBe(80);
    expect(calendar.attended(0)).toBe(true);
    expect(calendar.attended(16 * 3600 - 1)).toBe(true);
    expect(calendar.attended(16 * 3600)).toBe(false);
    expect(calendar.nextAttended(17 * 3600)).toBe(86_400);
    expect(calendar.nextAttended(5 * 86_400)).toBe(WEEK);
    expect(calendar.nextChange(0)).toBe(16 * 3600);
    expect(calendar.nextChange(16 * 3600)).toBe(86_400);
    expect(calendar.nextChange(6 * 86_400)).toBe(WEEK);
    // From Friday 16:00 to Monday 0:00.
    expect(calendar.longestUnattended()).toBe(56 * 3600);
  });
  it("three shifts run into each other; seven days never end", () => {
    const three = new Calendar({ hours: 8, perDay: 3, daysPerWeek: 5 });
    expect(three.nextChange(0)).toBe(5 * 86_400);
    expect(three.longestUnattended()).toBe(2 * 86_400);
    expect(new Calendar(line.shift).nextChange(5)).toBe(Number.POSITIVE_INFINITY);
    expect(() => new Calendar({ hours: 9, perDay: 3, daysPerWeek: 5 })).toThrow(/fit/);
  });
});

describe("days by hand", () => {
  it("nothing goes wrong: one part a minute in the attended time", () => {
    expect(simulateDays(line, { days: 7, seed: 1 })).toMatchObject({ made: 10_079, planned: WEEK, producing: WEEK });
    const shifts = simulateDays({ ...line, shift: twoShifts }, { days: 7, seed: 1 });
    expect(shifts.planned).toBe(80 * 3600);
    expect(shifts.made).toBe(4799);
    expect(shifts.unattended).toBe(0);
    const on = simulateDays({ ...line, shift: twoShifts, unattended: true }, { days: 7, seed: 1 });
    expect(on).toMatchObject({ planned: WEEK, made: 10_079, unattended: 88 * 3600, producingUnattended: 88 * 3600 });
    expect(Math.abs(on.madeUnattended - 88 * 60)).toBeLessThanOrEqual(5);
  });

  it("a refill of 10 minutes after every 50 parts", () => {
    const r = simulateDays(
      { ...line, refill: { parts: 50, time: always(540), startUp: 60 as never } },
      { days: 7, seed: 1 },
    );
    // 60 minutes for 50 parts: 168 rounds in a week.
    expect(r.refills).toBe(168);
    expect(r.made).toBe(168 * 50);
    expect(r.refilling).toBeCloseTo(168 * 600, 6);
    expect(lost(r)).toBeCloseTo(r.planned, 6);
    expect(r.peopleBusy).toBe(168 * 540);
  });

  it("without people it goes on until the trays are empty and waits for the morning", () => {
    const r = simulateDays(
      {
        ...line,
        shift: { hours: 8, perDay: 1, daysPerWeek: 7 },
        unattended: true,
        refill: { parts: 600, time: always(0), startUp: 0 as never },
      },
      { days: 7, seed: 1 },
    );
    // A filling lasts 10 h: from 0:00 to 10:00, when nobody is there until 0:00 of the next day: one filling a day.
    expect(r.made).toBe(7 * 600);
    expect(r.producingUnattended).toBeCloseTo(7 * 2 * 3600, 6);
    expect(Math.abs(r.madeUnattended - 7 * 120)).toBeLessThanOrEqual(7);
  });

  it("a tool change of 20 minutes every 100 parts; it waits for people at night unless it needs none", () => {
    const change = { name: "tool", station: 0, parts: 100, time: always(1200), person: true };
    const attended = simulateDays({ ...line, toolChanges: [change] }, { days: 7, seed: 1 });
    expect(attended.made).toBe((WEEK / 7200) * 100);
    expect(attended.changed[0]).toBeCloseTo(84 * 1200, 6);
    const night = { ...line, shift: twoShifts, unattended: true };
    const byPeople = simulateDays({ ...night, toolChanges: [change] }, { days: 7, seed: 1 });
    const byItself = simulateDays({ ...night, toolChanges: [{ ...change, person: false }] }, { days: 7, seed: 1 });
    expect(byItself.made).toBe(attended.made);
    expect(byPeople.made).toBeLessThan(byItself.made);
  });

  it("every planned second is told where it went, whatever happens, on one machine and on three", () => {
    for (const unattended of [false, true])
      for (const stations of [1, 3]) {
        const model: DaysModel = {
          ...line,
          unattended,
          shift: twoShifts,
          stations: Array.from({ length: stations }, (_, i) => ({
            name: `m${i}`,
            machining: always(50),
            service: always(20),
          })),
          stops: [
            {
              name: "chips",
              station: undefined,
              every: 7200 as never,
              time: { kind: "uniform", min: 60 as never, max: 600 as never },
              person: true,
            },
            { name: "sensor", station: undefined, every: 3600 as never, time: always(30), person: false },
            { name: "machine", station: stations - 1, every: 20_000 as never, time: always(1800), person: true },
          ],
          toolChanges: [{ name: "insert", station: 0, parts: 150, time: always(300), person: true }],
          refill: { parts: 96, time: always(240), startUp: 5 as never },
          scrap: 0.02,
        };
        const r = simulateDays(model, { days: 28, seed: 3 });
        expect(lost(r)).toBeCloseTo(r.planned, 4);
        expect(r.planned).toBeCloseTo((unattended ? 168 : 80) * 3600 * 4, 4);
        expect(r.good).toBeLessThan(r.made);
        expect(simulateDays(model, { days: 28, seed: 3 })).toEqual(r);
        expect(simulateDays(model, { days: 28, seed: 4 }).made).not.toBe(r.made);
      }
  });

  it("two people see to two stops at the same time, one does not", () => {
    const model: DaysModel = {
      ...line,
      stations: Array.from({ length: 4 }, (_, i) => ({ name: `m${i}`, machining: always(500), service: always(10) })),
      order: "first call",
      stops: Array.from({ length: 4 }, (_, i) => ({
        name: `s${i}`,
        station: i,
        every: 6000 as never,
        time: always(2000),
        person: true,
      })),
    };
    const one = simulateDays(model, { days: 28, seed: 1 }).made;
    const two = simulateDays({ ...model, people: { count: 2, response: always(0) } }, { days: 28, seed: 1 }).made;
    expect(two).toBeGreaterThan(1.05 * one);
  });
});

describe("days against closed forms, 99.9 % intervals, seed 21", () => {
  const options = { days: 28, replications: 20, seed: 21, plannedPerPart: 60, confidence: 0.999 };

  // A renewal process: running E, standing R: available E/(E + R) of the time (Barlow & Proschan, 1965, recalled from memory).
  it("availability of a cell that stops", () => {
    const stops = [
      {
        name: "stop",
        station: undefined,
        every: 5400 as never,
        time: { kind: "uniform" as const, min: 300 as never, max: 900 as never },
        person: true,
      },
    ];
    const figures = replicateDays({ ...line, stops }, options);
    const expected = (5400 / 6000) * WEEK;
    expect(Math.abs(figures.producing.mean - expected)).toBeLessThan(figures.producing.half!);
    expect(figures.producing.half! / expected).toBeLessThan(0.01);
    expect(Math.abs(figures.oeeInterval.mean - 0.9)).toBeLessThan(figures.oeeInterval.half! + 60 / (28 * 86_400));
    expect(figures.oee.effectiveness).toBeCloseTo(1, 3);
  });

  // Competing exponential causes, one standing at a time: available 1/(1 + Σ R/E).
  it("several causes", () => {
    const stop = (name: string, every: number, time: number) => ({
      name,
      station: undefined,
      every: every as never,
      time: always(time),
      person: false,
    });
    const figures = replicateDays({ ...line, stops: [stop("a", 3600, 300), stop("b", 20_000, 2400)] }, options);
    const share = 1 / (1 + 300 / 3600 + 2400 / 20_000);
    expect(Math.abs(figures.producing.mean - share * WEEK)).toBeLessThan(figures.producing.half!);
    expect(Math.abs(figures.stopped[0]!.mean - share * WEEK * (300 / 3600))).toBeLessThan(figures.stopped[0]!.half!);
  });

  it("a machine that stops while it runs, alone under its arm: one part in t + s + t R/E", () => {
    const model: DaysModel = {
      ...line,
      stations: [{ name: "m", machining: always(90), service: always(30) }],
      stops: [
        {
          name: "break",
          station: 0,
          every: 9000 as never,
          time: { kind: "exponential", mean: 1200 as never },
          person: false,
        },
      ],
    };
    const figures = replicateDays(model, options);
    expect(Math.abs(figures.made.mean - WEEK / (90 + 30 + (90 * 1200) / 9000))).toBeLessThan(figures.made.half!);
  });

  it("scrap is the share that it was said to be", () => {
    const figures = replicateDays({ ...line, scrap: 0.03 }, options);
    expect(Math.abs(figures.good.mean / figures.made.mean - 0.97)).toBeLessThan(figures.good.half! / figures.made.mean);
  });
});

it("refuses impossible models", () => {
  const bad = (change: Partial<DaysModel>) => () => simulateDays({ ...line, ...change }, { days: 1, seed: 1 });
  expect(bad({ stations: [] })).toThrow(/stations/);
  expect(bad({ stations: [{ name: "m", machining: always(-1), service: always(1) }] })).toThrow(/times of m/);
  expect(bad({ stations: [{ name: "m", machining: always(1), service: always(0) }] })).toThrow(/service of m/);
  expect(bad({ scrap: 1.5 })).toThrow(/scrap/);
  expect(bad({ people: { count: 0, response: always(0) } })).toThrow(/people/);
  expect(bad({ refill: { parts: 0, time: always(1), startUp: 0 as never } })).toThrow(/refill/);
  expect(bad({ stops: [{ name: "s", station: 3, every: 1 as never, time: always(1), person: true }] })).toThrow(
    /stop s/,
  );
  expect(() => simulateDays(line, { days: 0, seed: 1 })).toThrow(/days/);
});
