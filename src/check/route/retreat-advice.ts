/** What to do about a motion into or out of a place that comes too near: a straight way that has been tried. */
import type { Arm } from "../../arm/model.ts";
import type { Cell } from "../../cell/model.ts";
import type { CycleRun } from "../../cycle/index.ts";
import { toMm } from "../../math/units.ts";
import type { MotionFailure } from "../../motion/index.ts";
import type { Element } from "../clearance/elements.ts";
import type { ClearanceMemory } from "../clearance/memory.ts";
import type { SceneBuilder } from "../clearance/moving-scene.ts";
import type { Sighting } from "../clearance/survey.ts";
import { offsetText, type PlaceVisit, retreatsFor, simplest, visitsOf } from "./retreats.ts";

/** Places that are tried for one check: each takes a few tenths of a second. */
const MOST_TRIED = 6;

/** @param runs all runs that were surveyed @returns a sentence, or undefined where there is nothing to advise */
export function createRetreatAdvice(
  cell: Cell,
  arm: Arm,
  runs: readonly CycleRun<MotionFailure>[],
  builder: SceneBuilder,
  memory: ClearanceMemory,
): (sighting: Sighting) => string | undefined {
  const known = new Map<string, string | undefined>();

  const advise = (visit: PlaceVisit, required: number, met: Element): string | undefined => {
    const all = retreatsFor(cell, arm, builder, memory, visit, required);
    // Out of what was met at least; where that is none of it, out of the most.
    const first = all.findIndex(({ belongs }) => belongs(met));
    for (const { outOf, margin, ways } of first < 0 ? all.reverse() : all.slice(first)) {
      const best = simplest(ways);
      if (best === undefined || margin < required) continue;
      const { holder, way } = visit;
      const place = cell.holders.get(holder)!.places.length > 1 ? `, place ${visit.place + 1}` : "";
      const kept = Math.floor(toMm(best.retreat.clearance) * 10) / 10;
      const how = way === "retreat" ? "Withdraw by a line first" : "Come in by a line";
      const go = `go: { to: ${holder}, offset: ${offsetText(best.offset)}${way === "retreat" ? ", by: line" : ""} }`;
      const then = way === "retreat" ? "" : `, then \`go: { to: ${holder}, by: line }\``;
      return `${how}: \`${go}\`${then} keeps ${kept} mm and is clear of ${outOf} (tried at ${holder}${place}).`;
    }
    return undefined;
  };

  return ({ step, moment, required, pair, settled }) => {
    // What a wait mends, or the arm's own folding, is no matter of the way out.
    if (settled !== undefined || pair[1].link !== undefined) return undefined;
    for (const run of runs) {
      const move = run.moves.findIndex(
        ({ steps, resting, context }) =>
          steps.includes(step) && resting === moment.resting && context.held === moment.held,
      );
      if (move < 0) continue;
      const steps = run.moves[move]!.steps;
      const jaw = run.jaws.find(
        ({ after }) => (after === move && steps.at(-1) === step) || (after === move - 1 && steps[0] === step),
      );
      if (jaw === undefined) return undefined;
      const visit = visitsOf(cell, run, (other) => other === jaw).find((one) => one.move === move)!;
      const key = `${step.id}|${visit.way}|${required}`;
      if (!known.has(key) && known.size < MOST_TRIED) known.set(key, advise(visit, required, pair[1]));
      return known.get(key);
    }
    return undefined;
  };
}
