/** What a reader of a check must know about a shape from a mesh file. */
import type { Severity } from "../../cell/index.ts";
import { LARGEST_PLAUSIBLE, type MeshReport, SMALLEST_PLAUSIBLE } from "../../clearance/index.ts";
import type { PreparedMesh } from "./mesh-body.ts";

export interface MeshFinding {
  readonly code: "mesh-open" | "mesh-inverted" | "mesh-degenerate" | "mesh-unit" | "mesh-fit-loose";
  readonly severity: Severity;
  readonly message: string;
  readonly mend: string;
}

/** Fitted bodies with more than this times the volume of the convex hull are worth a word. */
const LOOSE = 2;

/** @param name of the shape, as in `CellMesh.name` */
export function meshFindings(name: string, { report, fitted, scale }: Omit<PreparedMesh, "bodies">): MeshFinding[] {
  const out: MeshFinding[] = [];
  // What is fitted around a mesh holds every triangle, closed or not.
  if (!report.closed && fitted === undefined)
    out.push({
      code: "mesh-open",
      severity: "warning",
      message: `the mesh of ${name} encloses no space (${whyOpen(report)}), so only its surface counts: a body wholly inside it would not be noticed`,
      mend: "Close it in the drawing and export it as a solid, or state fit: hull or fit: capsule.",
    });
  if (report.turnedOver > 0 && fitted === undefined)
    out.push({
      code: "mesh-inverted",
      severity: "caution",
      message: `${report.turnedOver} of the ${report.triangles} triangles of ${name} face inwards; they were turned over, which makes a solid of it`,
      mend: "Look at the shape in a viewer; export it again with its faces outward.",
    });
  if (report.degenerateTriangles > 0)
    out.push({
      code: "mesh-degenerate",
      severity: "caution",
      message: `${report.degenerateTriangles} of the ${report.triangles} triangles of ${name} have no area; they do no harm`,
      mend: "Nothing needs to be done; a coarser export may be free of them.",
    });
  const doubt = unitDoubt(name, report, scale);
  if (doubt !== undefined) out.push(doubt);
  if (fitted !== undefined && fitted.volume > LOOSE * fitted.hullVolume)
    out.push({
      code: "mesh-fit-loose",
      severity: "caution",
      message: `the ${fitted.count === 1 ? "capsule" : `${fitted.count} capsules`} around ${name} ${fitted.count === 1 ? "takes" : "take"} ${figures(fitted.volume * 1000)} l, its convex hull ${figures(fitted.hullVolume * 1000)} l: clearances come out smaller than they are`,
      mend: "State more capsules, fit: hull, or leave fit out.",
    });
  return out;
}

function whyOpen({ openEdges, crowdedEdges, disagreeingEdges, triangles, degenerateTriangles }: MeshReport): string {
  const reasons = [
    openEdges > 0 && `${openEdges} edges with one triangle only`,
    crowdedEdges > 0 && `${crowdedEdges} edges with more than two triangles`,
    disagreeingEdges > 0 && `${disagreeingEdges} edges whose triangles face opposite sides`,
  ].filter((reason) => reason !== false);
  if (reasons.length > 0) return reasons.join(", ");
  return triangles === degenerateTriangles ? "no triangle has an area" : "it is flat";
}

/** Units in which drawings are made, m. */
const UNITS: readonly (readonly [metres: number, written: string])[] = [
  [0.001, "1 mm"],
  [1, "1 m"],
  [0.0254, "1 in"],
  [0.01, "10 mm"],
  [1e-6, "0.001 mm"],
];

function unitDoubt(
  name: string,
  { unitDoubt: doubt, size }: MeshReport,
  scale: readonly [number, number, number],
): MeshFinding | undefined {
  if (doubt === undefined) return undefined;
  const longest = Math.max(...size);
  const unit = Math.max(...scale.map(Math.abs));
  const fits = UNITS.find(([metres]) => {
    const extent = (longest / unit) * metres;
    return extent >= SMALLEST_PLAUSIBLE && extent <= LARGEST_PLAUSIBLE;
  });
  return {
    code: "mesh-unit",
    severity: "warning",
    message: `${name} measures ${size.map((edge) => figures(edge * 1000)).join(" × ")} mm, which is ${doubt} for a body in a cell`,
    mend:
      fits === undefined
        ? "Check the file and its scale."
        : `The file is probably in units of ${fits[1]}: state scale: ${fits[1]}, which makes it ${figures((longest / unit) * fits[0] * 1000)} mm long.`,
  };
}

/** Three figures, without needless noughts. */
const figures = (value: number): string => String(Number(value.toPrecision(3)));
