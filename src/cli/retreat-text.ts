/** Ways out of a place, as text and as a document. */
import type { Cell } from "../cell/index.ts";
import type { PlaceWays } from "../check/route/place-ways.ts";
import { offsetText, type PlaceRetreat, type PlaceVisit, placeWords } from "../check/route/retreats.ts";
import { toMm } from "../math/units.ts";
import { clean } from "./text.ts";

/** Ways shown for each motion. */
const SHOWN = 5;

const inMm = (metres: number): string => `${Number((Math.floor(toMm(metres) * 10) / 10).toFixed(1))} mm`;

export function retreatText(cell: Cell, holder: string, all: readonly PlaceWays[]): string {
  const lines: string[] = [];
  for (const { visit, retreats } of all) {
    const { step, way, moment } = visit;
    const held = [...moment.held].map(([gripper, { part }]) => `${part} in ${gripper}`);
    const load = held.length === 0 ? "empty" : held.join(", ");
    lines.push(
      `${step.id} ${step.kind}: ${way === "approach" ? "way in to" : "way out of"} ${placeWords(cell, visit)}, ${load} (${visit.variant})`,
    );
    if (retreats.length === 0) lines.push("  nothing stands there that the tool would have to be drawn out of");
    for (const { outOf, margin, ways, reason } of retreats) {
      lines.push(`  clear of ${outOf}, ${inMm(margin)} kept${reason === undefined ? "" : `: none. ${reason}`}`);
      for (const one of ways.slice(0, SHOWN)) {
        const { stroke, clearance } = one.retreat;
        lines.push(`    ${goText(holder, way, one)}   ${inMm(stroke)} of way, keeps ${inMm(clearance)}`);
      }
      if (ways.length > SHOWN) lines.push(`    and ${ways.length - SHOWN} more (--json has all)`);
    }
    lines.push("");
  }
  return `${lines.map(clean).join("\n").trimEnd()}\n`;
}

/** The step that goes to the outer end: by a line on the way out, and by whatever suits before the line into the place. */
const goText = (holder: string, way: PlaceVisit["way"], { offset }: PlaceRetreat): string =>
  `go: { to: ${holder}, offset: ${offsetText(offset)}${way === "retreat" ? ", by: line" : ""} }`;

export function retreatDocument(holder: string, all: readonly PlaceWays[]) {
  return {
    schemaVersion: 1,
    holder,
    visits: all.map(({ visit, retreats }) => ({
      step: visit.step.id,
      way: visit.way,
      variant: visit.variant,
      place: visit.place + 1,
      gripper: visit.gripper,
      held: [...visit.moment.held].map(([gripper, { part, stage }]) => ({ gripper, part, stage })),
      q: [...visit.q],
      clearOf: retreats.map(({ outOf, margin, ways, reason }) => ({
        of: outOf,
        margin_m: margin,
        reason: reason ?? null,
        ways: ways.map((one) => ({
          step: goText(holder, visit.way, one),
          offset_m: one.offset,
          stroke_m: one.retreat.stroke,
          clearance_m: one.retreat.clearance,
          direction: one.retreat.direction,
          q: [...one.retreat.outside],
          pose: [...one.retreat.baseFromTool],
        })),
      })),
    })),
  };
}
