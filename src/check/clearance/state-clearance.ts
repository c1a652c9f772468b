/**
 * Clearance of the arm in one state: the least signed distance between its bodies and everything else, and among its own
 * bodies. Devices stand at their start positions, the grippers are empty.
 *
 * Pairs: each body of a moving link or of the tool with each body that is not on the arm; and bodies of links with at least
 * two joints between them. The base is not compared with what is fixed like it, neighbouring links share a joint. Pairs two
 * joints apart that are proved to overlap always or never to meet (settled-pairs) tell nothing about a state and are left out.
 */
import { buildArm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import { createBodySet, type Distance, type MeshLibrary } from "../../clearance/index.ts";
import { type CellBody, cellBodies } from "./cell-bodies.ts";
import { armFrames, settledPair } from "./settled-pairs.ts";

export interface StateClearance {
  /** Joints of the arm. */
  readonly n: number;
  /** Names of the two bodies of each pair that is compared. */
  readonly pairs: readonly (readonly [string, string])[];
  /**
   * Least signed distance, m, at joint values `q` (n); negative when bodies overlap. `out` receives the witnesses in base
   * axes, A being the first of the pair.
   */
  measure(q: ArrayLike<number>, out: Distance): number;
  /** Index of the pair that decided the last measurement. */
  readonly pair: number;
  /** Names of shapes that are not compared because their mesh files were not read. */
  readonly meshes: readonly string[];
  /** Pairs left out because they overlap in every state, and because they meet in none. */
  readonly alwaysOverlap: readonly (readonly [string, string])[];
  readonly neverMeet: readonly (readonly [string, string])[];
}

export type StateClearanceOutcome =
  | { readonly ok: true; readonly clearance: StateClearance }
  /** There is nothing to compare, and why. */
  | { readonly ok: false; readonly reason: string };

/** Prepares measurements of a cell. @param library meshes of the files that it names; shapes that it lacks are left out */
export function createStateClearance(cell: Cell, library?: MeshLibrary): StateClearanceOutcome {
  const { bodies, meshes } = cellBodies(cell, library);
  const arm = buildArm(cell.arm);
  const pairs: [number, number][] = [];
  const alwaysOverlap: [string, string][] = [],
    neverMeet: [string, string][] = [];
  for (const [i, a] of bodies.entries())
    for (const [j, b] of bodies.entries()) {
      if (!mayMove(a, b) || (b.link !== undefined && j <= i)) continue;
      const settled = a.link !== undefined && b.link !== undefined ? settledPair(arm, cell.arm, a, b) : undefined;
      if (settled === "always overlap") alwaysOverlap.push([a.name, b.name]);
      else if (settled === "never meet") neverMeet.push([a.name, b.name]);
      else pairs.push([i, j]);
    }
  if (pairs.length === 0) return { ok: false, reason: whyNothing(bodies, meshes) };

  const set = createBodySet(bodies, arm.n + 1, pairs);
  const frames = armFrames(arm);
  return {
    ok: true,
    clearance: {
      n: arm.n,
      pairs: pairs.map(([i, j]) => [bodies[i]!.name, bodies[j]!.name]),
      measure(q, out) {
        set.place(frames(q));
        return set.minimumDistance(out);
      },
      get pair() {
        return set.pair;
      },
      meshes,
      alwaysOverlap,
      neverMeet,
    },
  };
}

/** Whether the joints move `a`, a body of the arm, against `b` by more than the one joint between neighbours. */
function mayMove(a: CellBody, b: CellBody): boolean {
  if (a.link === undefined) return false;
  return b.link === undefined ? a.link > 0 : Math.abs(a.link - b.link) > 1;
}

function whyNothing(bodies: readonly CellBody[], meshes: readonly string[]): string {
  const files = meshes.length === 0 ? "" : ` (mesh files are not read: ${meshes.join(", ")})`;
  if (!bodies.some(({ link }) => link !== undefined && link > 0))
    return `the cell states no shapes of moving links or tool${files}`;
  return `the cell states no two shapes that could meet${files}`;
}
