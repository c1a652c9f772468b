/**
 * How far an arm is from a singularity, by name where the geometry gives it one.
 *
 * The Jacobian's determinant of an arm with a spherical wrist (axes 4 5 6 meeting in w) and parallel axes 2 3, and of an arm
 * with parallel axes 2 3 4 and intersecting axes 5 6 (meeting in w), is a product of three factors; each is measured on its own:
 * - wrist: sine of the turn of axis 5 away from the position where the axes on both sides of it are coplanar with it,
 *   (h5 × h)·h6 / (sin∠(h,h5)·sin∠(h5,h6)), with h = h4 or the direction of the parallel axes; ±1 when best.
 * - elbow: sine of the bend between the link from axis 2 to 3 and the one from axis 3 to w (or to axis 4), positive when
 *   turned positively about axis 3.
 * - shoulder: distance of w from the plane through axis 1 parallel to axis 2, signed, divided by the arm's reach.
 * All are dimensionless and signed; 0 is singular. Any other arm has one unsigned measure, the smallest singular value of
 * its Jacobian with lengths divided by half its reach ("unnamed").
 */

import { smallestSingularValue } from "../math/singular-values.ts";
import { MAX_JOINTS } from "./build.ts";
import { jointFrames } from "./forward.ts";
import { homeAxes } from "./inverse/axes.ts";
import { reachOf } from "./inverse/descent.ts";
import { distanceOf, findTriples, footOn, skewOf } from "./inverse/structure.ts";
import { geometricJacobian } from "./jacobian.ts";
import type { Arm } from "./model.ts";

export type SingularityKind = "wrist" | "elbow" | "shoulder" | "unnamed";

/** NaN where the arm has no singularity of that name. */
export interface SingularityMeasures {
  wrist: number;
  elbow: number;
  shoulder: number;
  unnamed: number;
}

/** On which side of each singularity the arm is; 0 on it (within 1e-9) or where the arm has none of that name. */
export interface Branch {
  readonly shoulder: 1 | -1 | 0;
  readonly elbow: 1 | -1 | 0;
  readonly wrist: 1 | -1 | 0;
}

export interface SingularityMeter {
  /** True when wrist, elbow and shoulder are all named; then `unnamed` is NaN. */
  readonly named: boolean;
  /** Measures at joint values q (rad or m, length n). Allocates only when `out` is left out. */
  measure(q: ArrayLike<number>, out?: SingularityMeasures): SingularityMeasures;
  /** The measure of least magnitude and its name. */
  nearest(q: ArrayLike<number>): { readonly kind: SingularityKind; readonly measure: number };
}

/** Departure (m or rad) up to which axes count as meeting or parallel for naming: rounded joint tables are still named. */
const NAMING = 1e-3;
const SIDE = 1e-9;

interface Named {
  readonly kind: "meeting" | "parallel";
  /** w in the kernel frame of joint `owner`. */
  readonly owner: number;
  readonly point: readonly [number, number, number];
  readonly elbow: boolean;
  readonly shoulder: boolean;
  /** Sign that makes "shoulder" positive on the side of axis 1 where axis 2 is, when it is off axis 1. */
  readonly front: number;
  readonly reach: number;
}

/** Distance measures to the singularities of an arm. */
export function createSingularityMeter(arm: Arm): SingularityMeter {
  const named = nameOf(arm);
  const complete = named?.elbow === true && named.shoulder;
  const { n } = arm;
  const frames = new Float64Array(12 * (MAX_JOINTS + 1));
  const jacobian = new Float64Array(6 * MAX_JOINTS);
  const transposed = new Float64Array(6 * MAX_JOINTS);
  const half = reachOf(arm) / 2 || 1;

  const measure = (
    q: ArrayLike<number>,
    out: SingularityMeasures = { wrist: 0, elbow: 0, shoulder: 0, unnamed: 0 },
  ): SingularityMeasures => {
    out.wrist = out.elbow = out.shoulder = out.unnamed = Number.NaN;
    if (named !== undefined) measureNamed(named, jointFrames(arm, q, frames), out);
    if (!complete) {
      geometricJacobian(arm, q, undefined, jacobian);
      for (let k = 0; k < 3 * n; k++) jacobian[k]! /= half;
      if (n >= 6) {
        for (let r = 0; r < 6; r++) for (let c = 0; c < n; c++) transposed[6 * c + r] = jacobian[n * r + c]!;
        out.unnamed = smallestSingularValue(transposed, n, 6);
      } else {
        out.unnamed = smallestSingularValue(jacobian, 6, n);
      }
    }
    return out;
  };
  const scratch: SingularityMeasures = { wrist: 0, elbow: 0, shoulder: 0, unnamed: 0 };
  return {
    named: complete,
    measure,
    nearest: (q) => {
      measure(q, scratch);
      let kind: SingularityKind = "unnamed";
      let least = Number.POSITIVE_INFINITY;
      for (const name of ["wrist", "elbow", "shoulder", "unnamed"] as const) {
        const value = Math.abs(scratch[name]);
        if (value < least) {
          least = value;
          kind = name;
        }
      }
      return { kind, measure: scratch[kind] };
    },
  };
}

/** The branch that joint values lie on, by the signs of the named measures. */
export function branchOf(meter: SingularityMeter, q: ArrayLike<number>): Branch {
  const { shoulder, elbow, wrist } = meter.measure(q);
  const side = (x: number): 1 | -1 | 0 => (x > SIDE ? 1 : x < -SIDE ? -1 : 0);
  return { shoulder: side(shoulder), elbow: side(elbow), wrist: side(wrist) };
}

function nameOf(arm: Arm): Named | undefined {
  if (arm.n !== 6 || arm.prismatic.includes(1)) return undefined;
  const axes = homeAxes(arm);
  const triples = findTriples(axes, NAMING);
  const meeting = triples.find((t) => t.kind === "meeting" && t.first === 3);
  const parallel = triples.find((t) => t.kind === "parallel" && t.first === 1);
  let point: readonly [number, number, number];
  let kind: Named["kind"];
  let owner: number;
  if (meeting) {
    kind = "meeting";
    owner = 3;
    point = meeting.point;
  } else if (parallel && distanceOf(axes, 4, 5) <= NAMING && skewOf(axes, 4, 5) > 0.02 && skewOf(axes, 3, 4) > 0.02) {
    kind = "parallel";
    owner = 4;
    point = footOn(axes, 4, 5);
  } else return undefined;
  const planar = skewOf(axes, 1, 2) <= NAMING && distanceOf(axes, 1, 2) > 1e-6;
  const across = skewOf(axes, 0, 1) > 0.02;
  // Side of axis 1 on which axis 2 lies: (p2 - p1) × h1 · h2 for the feet of their common normal.
  const a = footOn(axes, 0, 1),
    b = footOn(axes, 1, 0);
  const { h, p } = axes;
  const d = [b[0] - a[0], b[1] - a[1], b[2] - a[2]] as const;
  const offset =
    h[3]! * (d[1] * h[2]! - d[2] * h[1]!) +
    h[4]! * (d[2] * h[0]! - d[0] * h[2]!) +
    h[5]! * (d[0] * h[1]! - d[1] * h[0]!);
  let reach = 0;
  for (let i = 1; i < 4; i++)
    reach += Math.hypot(p[3 * i]! - p[3 * i - 3]!, p[3 * i + 1]! - p[3 * i - 2]!, p[3 * i + 2]! - p[3 * i - 1]!);
  reach += Math.hypot(point[0] - p[9]!, point[1] - p[10]!, point[2] - p[11]!);
  return {
    kind,
    owner,
    point: inFrame(arm, owner, point),
    elbow: planar,
    shoulder: planar && across,
    front: offset < -1e-6 ? -1 : 1,
    reach,
  };
}

/** A point given in base axes with the arm at joint values 0, in joint i's kernel frame. */
function inFrame(arm: Arm, i: number, point: readonly [number, number, number]): [number, number, number] {
  const frames = jointFrames(arm, new Float64Array(arm.n), new Float64Array(12 * (arm.n + 1)));
  const f = 12 * i;
  const d = [point[0] - frames[f + 3]!, point[1] - frames[f + 7]!, point[2] - frames[f + 11]!] as const;
  const component = (c: number) => frames[f + c]! * d[0] + frames[f + 4 + c]! * d[1] + frames[f + 8 + c]! * d[2];
  return [component(0), component(1), component(2)];
}

function measureNamed(named: Named, f: Float64Array, out: SingularityMeasures): void {
  const at = 12 * named.owner;
  const [x, y, z] = named.point;
  const wx = f[at]! * x + f[at + 1]! * y + f[at + 2]! * z + f[at + 3]!,
    wy = f[at + 4]! * x + f[at + 5]! * y + f[at + 6]! * z + f[at + 7]!,
    wz = f[at + 8]! * x + f[at + 9]! * y + f[at + 10]! * z + f[at + 11]!;
  // Wrist: axis before 5 is 4, or the parallel direction, which axis 4 has as well.
  const ax = f[38]!,
    ay = f[42]!,
    az = f[46]!,
    bx = f[50]!,
    by = f[54]!,
    bz = f[58]!,
    cx = f[62]!,
    cy = f[66]!,
    cz = f[70]!;
  const ux = by * az - bz * ay,
    uy = bz * ax - bx * az,
    uz = bx * ay - by * ax;
  const vx = by * cz - bz * cy,
    vy = bz * cx - bx * cz,
    vz = bx * cy - by * cx;
  out.wrist = (ux * cx + uy * cy + uz * cz) / Math.sqrt((ux * ux + uy * uy + uz * uz) * (vx * vx + vy * vy + vz * vz));
  if (!named.elbow) return;
  // Links of the plane across axis 2: from axis 2 to 3, and from axis 3 to w (or axis 4).
  const hx = f[26]!,
    hy = f[30]!,
    hz = f[34]!;
  const lx = f[27]! - f[15]!,
    ly = f[31]! - f[19]!,
    lz = f[35]! - f[23]!;
  const meeting = named.kind === "meeting";
  const mx = (meeting ? wx : f[39]!) - f[27]!,
    my = (meeting ? wy : f[43]!) - f[31]!,
    mz = (meeting ? wz : f[47]!) - f[35]!;
  const hl = hx * lx + hy * ly + hz * lz,
    hm = hx * mx + hy * my + hz * mz;
  const l2 = lx * lx + ly * ly + lz * lz - hl * hl,
    m2 = mx * mx + my * my + mz * mz - hm * hm;
  out.elbow = (hx * (ly * mz - lz * my) + hy * (lz * mx - lx * mz) + hz * (lx * my - ly * mx)) / Math.sqrt(l2 * m2);
  if (!named.shoulder) return;
  // Distance of w from the plane through axis 1 along axis 2: (w - p1) × h1 · h2 / sin∠(h1,h2).
  const kx = f[2]!,
    ky = f[6]!,
    kz = f[10]!,
    gx = f[14]!,
    gy = f[18]!,
    gz = f[22]!;
  const dx = wx - f[3]!,
    dy = wy - f[7]!,
    dz = wz - f[11]!;
  const triple = gx * (dy * kz - dz * ky) + gy * (dz * kx - dx * kz) + gz * (dx * ky - dy * kx);
  const dot = kx * gx + ky * gy + kz * gz;
  out.shoulder = (named.front * triple) / (Math.sqrt(1 - dot * dot) * named.reach);
}
