/** Findings about clearance. */
import type { Cell } from "../../cell/index.ts";
import type { FindingList } from "../findings.ts";
import { LARGEST_SHAPE } from "./elements.ts";
import { MEANT_OVERLAP } from "./meant-contacts.ts";
import { meshFindings } from "./mesh-findings.ts";
import type { Encounter, Sighting, Survey } from "./survey.ts";
import { deviceWords, inMm, momentWords, waitFor } from "./words.ts";

/** Nearer than this counts as touching, m: below it rounding decides. */
const TOUCH = 1e-6;
/** Bounds farther apart than this tell an overlap that may be deeper, m. */
const INEXACT = 0.001;

/** @param advice a way into or out of a place that has been tried, in a sentence; undefined where there is none to give */
export function addClearanceFindings(
  cell: Cell,
  survey: Survey,
  findings: FindingList,
  advice: (sighting: Sighting) => string | undefined = () => undefined,
): void {
  const mendFor = (sighting: Sighting) => {
    const tried = advice(sighting);
    return `${tried === undefined ? "" : `${tried} Or: `}${mendOf(cell, sighting)}`;
  };
  for (const mesh of survey.builder.elements.read)
    for (const { code, severity, message, mend } of meshFindings(mesh.name, mesh))
      findings.add(code, severity, mesh.path, message, mend, mesh.name);
  for (const name of survey.builder.elements.tooLarge)
    findings.add(
      "shape-too-large",
      "warning",
      [],
      `${name} is larger than ${LARGEST_SHAPE} m about its middle and is left out of all clearances`,
      "Look for a unit or a size that is wrong.",
      name,
    );
  if (!survey.compared) {
    findings.add(
      "clearance-not-computed",
      "caution",
      [],
      `no clearance was computed: ${whyNothing(survey)}`,
      "State shapes of the arm's links, of the tool and of what stands around them.",
    );
    return;
  }
  for (const encounter of survey.encounters) {
    const { kind, worst } = encounter;
    const { step, pair, upper, lower, required } = worst;
    const path = step.path;
    const subject = pair.map(({ about }) => about).join("|");
    const [a, b] = pair.map(({ name }) => name) as [string, string];
    const where = whereWords(encounter);
    switch (kind) {
      case "near":
        if (upper <= TOUCH) {
          const atLeast = upper - lower > INEXACT ? "at least " : "";
          const how = upper < -TOUCH ? `overlap by ${atLeast}${inMm(upper)}` : "touch";
          findings.add("collision", "error", path, `${a} and ${b} ${how}, ${where}`, mendFor(worst), subject);
        } else
          findings.add(
            "clearance-below-required",
            "warning",
            path,
            `${a} comes within ${inMm(upper)} of ${b} where ${inMm(required)} are wanted, ${where}`,
            mendFor(worst),
            subject,
          );
        break;
      case "not certified":
        findings.add(
          "clearance-not-certified",
          "caution",
          path,
          lower > 0
            ? `${a} comes within ${inMm(upper)} of ${b}, as good as the ${inMm(required)} wanted; certified are ${(1000 * lower).toFixed(3)} mm, ${where}`
            : `${a} comes within ${inMm(upper)} of ${b}, ${where}; that nothing comes nearer could not be certified, the search was given up`,
          lower > 0
            ? "Give the motion a little more room, or ask for a little less."
            : "Look for a unit or a size that is wrong; split very large shapes.",
          subject,
        );
        break;
      case "meant":
        findings.add(
          "contact-too-deep",
          "caution",
          path,
          `${a} and ${b} are meant to touch, but their shapes overlap by ${inMm(upper)}, ${where}`,
          `Correct the shapes, the place or the grip: beyond ${inMm(MEANT_OVERLAP)} the modelled poses do not agree.`,
          subject,
        );
        break;
      case "person":
        findings.add(
          "near-operator-place",
          "caution",
          path,
          `${a} comes within ${inMm(Math.max(upper, 0))} of the operator place ${b} (a standing cylinder of 0.6 m by 1.8 m), ${where}`,
          "Keep people out while the arm moves, or move the place: the risk assessment decides, this check does not.",
          subject,
        );
        break;
    }
  }
}

function whyNothing({ builder, failed }: Survey): string {
  const { arm, meshes } = builder.elements;
  const files = meshes.length === 0 ? "" : ` (mesh files are not read: ${meshes.join(", ")})`;
  if (!arm.some(({ link }) => link! > 0)) return `the cell states no shapes of moving links or tool${files}`;
  if (failed.length > 0) return `no motion could be made${files}`;
  return `the cell states no two shapes that could meet, or its routine makes no motion${files}`;
}

/** When, for which part, where the device is, and how often. */
function whereWords({ worst, targets }: Encounter): string {
  const device = deviceWords(worst);
  const parts = [`${momentWords(worst)} (${worst.variant})`];
  if (device !== undefined) parts.push(`with ${device}`);
  let text = parts.join(", ");
  if (targets.size > 1) text += `; the worst of ${targets.size} places`;
  return text;
}

function mendOf(cell: Cell, sighting: Sighting): string {
  const [a, b] = sighting.pair;
  const { settled, required } = sighting;
  const also = `or state \`clearance\` in the step if less than ${inMm(required)} will do`;
  if (settled !== undefined && settled.distance > sighting.upper) {
    const there = `with ${b.device!.name} ${settled.position} the distance is ${settled.beyond ? "more than" : ""} ${inMm(settled.distance)}`;
    return `${waitFor(cell, b.device!.name, settled.position)}: ${there.replace("  ", " ")}.`;
  }
  const { step } = sighting;
  const find =
    step.kind === "go" && step.by === "joint" && step.route === undefined ? "let a way be found (`route: find`), " : "";
  if (b.link !== undefined)
    return `Choose another branch or pose, or move by way of another pose, so that the arm does not fold so far; ${also}.`;
  if (b.rests !== undefined)
    return `Raise the offset, place the parts of ${b.rests.holder} farther apart, or take narrower jaws; ${also}.`;
  if (a.group === "held part")
    return `Raise the offset, ${find}or go by another pose. If the part rests on ${b.name} at its place, state \`rests on: [${b.name}]\` there; if the step touches it on purpose, \`may touch: [${b.name}]\`.`;
  return `Raise the offset, ${find}go by another pose, or move ${b.device?.name ?? b.name}; ${also}.`;
}
