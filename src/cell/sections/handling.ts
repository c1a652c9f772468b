/** `handling`: safety factor of grips, deviations that add up, and what parts go into. */
import { listOf, mapBy, mapOf } from "../form/collections.ts";
import { given, type Kind, refined } from "../form/kind.ts";
import { nameOf, resolveName } from "../form/named.ts";
import { may, need, record } from "../form/records.ts";
import { count, number, quantity, word } from "../form/scalars.ts";
import type { Fit, Handling, StatedDeviation } from "../handling.ts";
import { frictionKind } from "./tool.ts";

const length = quantity("length", { atLeast: "0 mm" });
const size = quantity("length", { above: "0 mm" });

const deviationKind: Kind<StatedDeviation> = refined(
  record(
    "a deviation",
    {
      within: may(length, "either way, in each direction; three standard deviations where normal"),
      tilt: may(quantity("angle", { atLeast: "0 deg", atMost: "45 deg" }), "tilt either way, 0 if left out"),
      distribution: need(word(["normal", "uniform", "triangular"] as const), "how it is distributed"),
      at: may(listOf("holders", nameOf("holder"), 1), "holders in which it acts, all if left out"),
    },
    { note: true },
  ),
  (value, at, reading) =>
    value.within === undefined && value.tilt === undefined
      ? reading.log.wrong("missing-key", at, "within or tilt, or both", "State how large the deviation can be.")
      : {
          within: value.within ?? 0,
          tilt: value.tilt ?? 0,
          distribution: value.distribution,
          at: value.at ?? [],
        },
);

const fitKind: Kind<Fit> = refined(
  record(
    "a fit",
    {
      bore: need(size, "diameter of the hole, or of the circle between the open jaws of a chuck"),
      tolerance: may(length, "deviation of the bore either way"),
      chamfer: may(length, "width of its chamfer, across the way in"),
      depth: may(size, "how deep the part goes in"),
      friction: may(frictionKind, "coefficient of friction between part and bore"),
      diameter: may(size, "diameter of the part where it enters, that of its cylinder if left out"),
      "part chamfer": may(length, "width of the part's chamfer, across the way in"),
      "push limit": may(quantity("force", { above: "0 N" }), "largest force that stop and jaws may be pushed with"),
    },
    { note: true },
  ),
  (value) =>
    given({
      bore: value.bore,
      tolerance: value.tolerance,
      chamfer: value.chamfer,
      depth: value.depth,
      friction: value.friction,
      diameter: value.diameter,
      partChamfer: value["part chamfer"],
      pushLimit: value["push limit"],
    }),
);

export const handlingKind: Kind<Handling> = refined(
  record(
    "handling",
    {
      "safety factor": may(number({ atLeast: 1, atMost: 20 }), "safety factor of grip forces, 2 if left out"),
      "jaw room": may(length, "least room per side between an open jaw and the largest part, 1 mm if left out"),
      insertions: may(count(1000, 10_000_000), "trial insertions, 1,000,000 if left out"),
      seed: may(count(0, 1_000_000_000), "seed of the trial insertions, 1 if left out"),
      deviations: may(mapOf("deviations by name", deviationKind), "deviations between part and place, by name"),
      fits: may(
        mapBy("fits by holder", (at, name, reading) => resolveName(at, name, "holder", reading), fitKind),
        "what parts go into, by holder",
      ),
    },
    { note: true },
  ),
  (value) =>
    given({
      safetyFactor: value["safety factor"],
      jawRoom: value["jaw room"],
      insertions: value.insertions,
      seed: value.seed,
      deviations: value.deviations ?? new Map<string, StatedDeviation>(),
      fits: value.fits ?? new Map<string, Fit>(),
    }),
);
