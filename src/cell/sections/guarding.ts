/** `guarding`: people, what watches them, how the arm stops, contact surfaces, safety functions and judgements of hazards. */
import { listOf, mapOf } from "../form/collections.ts";
import { given, type Kind, refined } from "../form/kind.ts";
import { nameOf, newName } from "../form/named.ts";
import { missingName } from "../form/names.ts";
import { may, need, record } from "../form/records.ts";
import { count, number, quantity, text, word } from "../form/scalars.ts";
import {
  BODY_REGIONS,
  type CategoryName,
  type ContactSurface,
  type Guarding,
  type HazardJudgement,
  type SafetyFunction,
  type SafetyPart,
} from "../guarding.ts";
import { describe } from "../text/written.ts";

const speed = quantity("speed", { above: "0 mm/s" });
const duration = quantity("time", { atLeast: "0 s" });
const length = quantity("length", { atLeast: "0 mm" });
const interval = quantity("time", { above: "0 s" });

const surfaceOwner: Kind<string> = {
  expected: "flange, or the name of a gripper",
  read(at, reading) {
    const known = ["flange", ...reading.names.of.gripper];
    const name = at.kind === "scalar" ? at.text.trim() : describe(at);
    return known.includes(name) ? name : missingName(reading, at, "gripper", name, known);
  },
  schema: () => ({ type: ["string", "integer"] }),
};

const resolution = quantity("length", { above: "0 mm", atMost: "200 mm" });

const channelPart = refined(
  record(
    "a part of a channel",
    {
      "MTTFd years": may(number({ above: 0 }), "mean time to a dangerous failure, years"),
      "B10d cycles": may(number({ above: 0 }), "operations until a tenth have failed dangerously"),
      every: may(interval, "mean time between two operations, with B10d"),
      DC: may(quantity("share", { atLeast: "0 %", atMost: "100 %" }), "diagnostic coverage"),
    },
    { note: true, atMostOne: [["MTTFd years", "B10d cycles"]] },
  ),
  (value): SafetyPart =>
    given({
      mttfdYears: value["MTTFd years"],
      b10dCycles: value["B10d cycles"],
      every: value.every,
      coverage: value.DC,
    }),
);

const categoryWord = word(["B", "1", "2", "3", "4"] as const);
const category: Kind<CategoryName> = {
  ...categoryWord,
  schema: () => ({ enum: ["B", "1", "2", "3", "4", 1, 2, 3, 4], description: categoryWord.expected }),
};

const safetyFunction = refined(
  record(
    "a safety function",
    {
      covers: may(listOf("entries of the hazard register", newName), "entries of the hazard register"),
      required: may(word(["a", "b", "c", "d", "e"] as const), "required performance level, of the hazards if left out"),
      category: may(category, "category of the architecture"),
      channels: may(
        listOf("channels", listOf("parts of a channel", channelPart, 1, 100), 1, 2),
        "one or two lists of parts",
      ),
      CCF: may(number({ atLeast: 0, atMost: 100 }), "score against failures of common cause"),
      "days per year": may(number({ above: 0, atMost: 366 }), "days of operation a year"),
      "hours per day": may(number({ above: 0, atMost: 24 }), "hours of operation a day"),
    },
    { note: true },
  ),
  (value): SafetyFunction =>
    given({
      covers: value.covers ?? [],
      required: value.required,
      category: value.category,
      channels: value.channels ?? [],
      commonCause: value.CCF,
      daysPerYear: value["days per year"],
      hoursPerDay: value["hours per day"],
    }),
);

const oneOrTwo = count(1, 2) as Kind<1 | 2>;

const judgement = refined(
  record(
    "a judgement of a hazard",
    {
      S: may(oneOrTwo, "severity: 1 slight, 2 serious"),
      F: may(oneOrTwo, "frequency of exposure: 1 seldom, 2 often"),
      P: may(oneOrTwo, "possibility of avoiding: 1 possible, 2 scarcely"),
      reason: may(text, "why"),
      measures: may(listOf("measures", text), "measures that the file does not show"),
    },
    { note: true },
  ),
  (value): HazardJudgement =>
    given({
      severity: value.S,
      exposure: value.F,
      avoidance: value.P,
      reason: value.reason,
      measures: value.measures ?? [],
    }),
);

export const guardingKind: Kind<Guarding> = refined(
  record(
    "guarding",
    {
      people: may(
        mapOf(
          "people by name",
          record(
            "a person",
            {
              place: may(nameOf("operator place"), "operator place of the scene"),
              "approach speed": may(speed, "walking speed, 1.6 m/s if left out"),
              body: may(listOf("body regions", word(BODY_REGIONS)), "body regions that may be touched"),
              every: may(interval, "how often the person comes near"),
            },
            { note: true },
          ),
        ),
        "people by name",
      ),
      zones: may(
        mapOf(
          "guarded zones by name",
          record(
            "a guarded zone",
            {
              zone: need(nameOf("zone"), "zone of the scene"),
              by: need(
                word(["scanner", "light curtain", "gate", "two-hand control", "mat"] as const),
                "what watches it",
              ),
              response: may(
                {
                  expected: "stop, or a speed such as 250 mm/s",
                  read: (at, reading) =>
                    at.kind === "scalar" && at.text.trim() === "stop" ? ("stop" as const) : speed.read(at, reading),
                  schema: (parts) => ({ anyOf: [{ const: "stop" }, speed.schema(parts)] }),
                } as Kind<"stop" | number>,
                "stop, or a reduced tool speed; stop if left out",
              ),
              resolution: may(
                {
                  expected: "a length such as 14 mm, or single beams",
                  read: (at, reading) =>
                    at.kind === "scalar" && at.text.trim() === "single beams"
                      ? ("single beams" as const)
                      : resolution.read(at, reading),
                  schema: (parts) => ({ anyOf: [{ const: "single beams" }, resolution.schema(parts)] }),
                } as Kind<"single beams" | number>,
                "smallest body that is always detected, or single beams",
              ),
              height: may(length, "height of a field or mat above the floor"),
              field: may(word(["vertical", "horizontal"] as const), "across the way of approach, or along it"),
            },
            { note: true },
          ),
        ),
        "guarded zones by name",
      ),
      stopping: may(
        record("stopping", {
          "reaction time": may(duration, "from detection to the beginning of the stop"),
          "stopping time": may(duration, "from there to standstill"),
          "stopping distance": may(length, "travel of the tool meanwhile"),
        }),
        "stopping of the arm with its safety devices",
      ),
      monitoring: may(
        record("monitoring", {
          intrusion: may(length, "how far a part of the body gets in before it is seen"),
          "sensor uncertainty": may(length, "of the position of a person"),
          "arm uncertainty": may(length, "of the position of the arm"),
        }),
        "terms of speed and separation monitoring",
      ),
      "safety functions": may(mapOf("safety functions by name", safetyFunction), "safety functions by name"),
      hazards: may(mapOf("judgements by entry of the hazard register", judgement), "judgements of hazards"),
      "contact surfaces": may(
        mapOf(
          "contact surfaces by name",
          record(
            "a contact surface",
            {
              on: need(surfaceOwner, "gripper or flange"),
              area: need(quantity("area", { above: "0 cm^2" }), "area, 1 cm^2"),
            },
            { note: true },
          ),
        ),
        "where the tool may touch a person",
      ),
    },
    { note: true },
  ),
  (value): Guarding =>
    given({
      people: new Map(
        [...(value.people ?? [])].map(([name, person]) => [
          name,
          given({
            place: person.place,
            approachSpeed: person["approach speed"] ?? 1.6,
            body: person.body ?? [],
            every: person.every,
          }),
        ]),
      ),
      zones: new Map(
        [...(value.zones ?? [])].map(([name, { zone, by, response, resolution, height, field }]) => [
          name,
          given({ zone, by, response: response ?? "stop", resolution, height, field }),
        ]),
      ),
      stopping:
        value.stopping &&
        given({
          reactionTime: value.stopping["reaction time"],
          stoppingTime: value.stopping["stopping time"],
          stoppingDistance: value.stopping["stopping distance"],
        }),
      monitoring:
        value.monitoring &&
        given({
          intrusion: value.monitoring.intrusion,
          sensorUncertainty: value.monitoring["sensor uncertainty"],
          armUncertainty: value.monitoring["arm uncertainty"],
        }),
      safetyFunctions: value["safety functions"],
      hazards: value.hazards,
      contactSurfaces: new Map<string, ContactSurface>(
        [...(value["contact surfaces"] ?? [])].map(([name, { on, area }]) => [name, { on, area }]),
      ),
    }),
);
