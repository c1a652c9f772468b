/** `motion` and `production`. */
import { listOf, mapOf } from "../form/collections.ts";
import { given, type Kind, refined } from "../form/kind.ts";
import { nameOf } from "../form/named.ts";
import { may, need, record } from "../form/records.ts";
import { count, quantity, word } from "../form/scalars.ts";
import type { MotionDefaults, Production } from "../model.ts";
import { time } from "./devices.ts";
import { costsKind } from "./money.ts";

export const defaultMotion: MotionDefaults = {
  jointSpeed: 1,
  lineSpeed: 0.25,
  lineAcceleration: 2,
  lineStep: 0.002,
  clearance: 0.01,
};

const speed = quantity("speed", { above: "0 mm/s" });

export const motionKind: Kind<MotionDefaults> = refined(
  record(
    "motion defaults",
    {
      "joint speed": may(
        quantity("share", { above: "0 %", atMost: "100 %" }),
        "share of the joint speed limits, 100 % if left out",
      ),
      "line speed": may(speed, "tool speed along lines and arcs, 250 mm/s if left out"),
      "line acceleration": may(
        quantity("acceleration", { above: "0 m/s^2" }),
        "tool acceleration along lines and arcs, 2 m/s^2 if left out",
      ),
      "line step": may(
        quantity("length", { atLeast: "0.01 mm" }),
        "sampling distance of checks along lines, 2 mm if left out",
      ),
      clearance: may(quantity("length", { atLeast: "0 mm" }), "least distance kept to everything, 10 mm if left out"),
      "route seed": may(count(0, 1_000_000), "seed of found routes: another one finds another route, 1 if left out"),
    },
    { note: true },
  ),
  (value) =>
    given({
      jointSpeed: value["joint speed"] ?? defaultMotion.jointSpeed,
      lineSpeed: value["line speed"] ?? defaultMotion.lineSpeed,
      lineAcceleration: value["line acceleration"] ?? defaultMotion.lineAcceleration,
      lineStep: value["line step"] ?? defaultMotion.lineStep,
      clearance: value.clearance ?? defaultMotion.clearance!,
      routeSeed: value["route seed"],
    }),
);

const shift = refined(
  record("the shift pattern", {
    hours: need(quantity("time", { above: "0 h", atMost: "24 h" }), "hours of one shift, 8 h"),
    "per day": need(count(1, 24), "shifts a day"),
    "days per week": need(count(1, 7), "days a week"),
    "weeks per year": may(count(1, 53), "weeks a year, 48"),
  }),
  (value, at, reading) => {
    const hours = value.hours / 3600;
    if (hours * value["per day"] > 24 + 1e-9)
      return reading.log.wrong("out-of-range", at, "shifts that fit in a day", "Correct hours or per day.");
    return given({
      hours,
      perDay: value["per day"],
      daysPerWeek: value["days per week"],
      weeksPerYear: value["weeks per year"],
    });
  },
);

const needs = word(["person", "nobody"] as const);

const PER_HOUR = 3600;

export const productionKind: Kind<Production> = refined(
  record(
    "production",
    {
      target: may(quantity("rate", { above: "0 /h" }), "wanted rate, 40 /h"),
      shift: may(shift, "{ hours: 8 h, per day: 2, days per week: 5 }"),
      batches: may(
        listOf(
          "batches",
          record(
            "a batch",
            { part: need(nameOf("part"), "part"), quantity: need(count(1, 1e9), "number of parts") },
            { note: true },
          ),
        ),
        "batches of parts",
      ),
      stops: may(
        mapOf(
          "stops by name",
          record(
            "a stop",
            {
              every: need(quantity("time", { atLeast: "1 s" }), "mean running time between stops"),
              time: need(time, "how long one lasts"),
              needs: may(needs, "person or nobody; person if left out"),
            },
            { note: true },
          ),
        ),
        "stops by name",
      ),
      "tool changes": may(
        mapOf(
          "tool changes by name",
          record(
            "a tool change",
            {
              parts: need(count(1, 1e9), "parts of the cell between two changes"),
              time: need(time, "how long one lasts"),
              needs: may(needs, "person or nobody; person if left out"),
            },
            { note: true },
          ),
        ),
        "tool changes by name",
      ),
      refill: may(
        record("the refill of trays", { time: need(time, "how long a person takes") }, { note: true }),
        "change of the trays by a person, { time: 3 to 5 min }",
      ),
      people: may(
        record(
          "the people who attend",
          {
            attending: need(count(1, 1000), "people who see to the cell"),
            response: need(time, "how long it takes one to come"),
          },
          { note: true },
        ),
        "people during shifts, { attending: 1, response: 0 to 5 min }",
      ),
      scrap: may(quantity("share", { atLeast: "0 %", atMost: "100 %" }), "share of parts that are not good, 1 %"),
      unattended: may(
        quantity("time", { above: "0 s" }),
        "time that the cell shall go on without people from full trays, 2 h",
      ),
      costs: may(costsKind, "investment, savings and running costs"),
    },
    { note: true },
  ),
  (value) =>
    given({
      target: value.target === undefined ? undefined : value.target * PER_HOUR,
      shift: value.shift,
      batches: (value.batches ?? []).map(({ part, quantity }) => ({ part, quantity })),
      stops:
        value.stops &&
        new Map([...value.stops].map(([name, { every, time, needs }]) => [name, given({ every, time, needs })])),
      toolChanges:
        value["tool changes"] &&
        new Map(
          [...value["tool changes"]].map(([name, { parts, time, needs }]) => [name, given({ parts, time, needs })]),
        ),
      refill: value.refill && { time: value.refill.time },
      people: value.people && { attending: value.people.attending, response: value.people.response },
      scrap: value.scrap,
      unattended: value.unattended,
      costs: value.costs,
    }),
);
