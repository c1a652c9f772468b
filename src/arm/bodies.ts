/**
 * Moving links as ten numbers each, in chain frames (arm/chain), about the frame's origin:
 * mass m, first moment h = m·c (3), second moment S = ∫ r·rᵀ dm (xx, yy, zz, xy, xz, yz).
 * S relates to the inertia tensor J about the same point by S = ½·tr(J)·1 - J.
 */
import { splitTurn } from "./chain.ts";
import type { Arm, Payload } from "./model.ts";

/** Numbers per body. */
export const BODY_STRIDE = 10;

/** Links 1..n of the arm; one slot more is left for the last link together with a payload. */
export function linkBodies(arm: Arm): Float64Array {
  const { n, mass, centre, inertia, fixed } = arm;
  const bodies = new Float64Array(BODY_STRIDE * (n + 1));
  const turn = new Float64Array(12);
  for (let i = 0; i < n; i++) {
    // Chain frame from kernel joint frame: a turn by -γ about z.
    const gamma = i + 1 < n ? splitTurn(fixed, 12 * (i + 1)).gamma : 0;
    const c = Math.cos(gamma),
      s = Math.sin(gamma);
    turn.set([c, s, 0, 0, -s, c, 0, 0, 0, 0, 1, 0]);
    writeBody(bodies, BODY_STRIDE * i, mass[i]!, centre, 3 * i, inertia, 6 * i, turn, 0);
  }
  return bodies;
}

/** Last link and payload as one body, written to the slot after the links. The payload is stated in the flange frame. */
export function addPayload(arm: Arm, bodies: Float64Array, payload: Payload): void {
  const { n } = arm;
  const slot = BODY_STRIDE * n,
    last = slot - BODY_STRIDE;
  writeBody(bodies, slot, payload.mass, payload.centre, 0, payload.inertia, 0, arm.fixed, 12 * n);
  for (let k = 0; k < BODY_STRIDE; k++) bodies[slot + k]! += bodies[last + k]!;
}

function writeBody(
  out: Float64Array,
  to: number,
  m: number,
  centre: ArrayLike<number>,
  ci: number,
  inertia: ArrayLike<number>,
  ii: number,
  frame: Float64Array,
  fi: number,
): void {
  const x = centre[ci]!,
    y = centre[ci + 1]!,
    z = centre[ci + 2]!;
  const half = (inertia[ii]! + inertia[ii + 1]! + inertia[ii + 2]!) / 2;
  // Second moments about the centre of mass, source axes.
  const sxx = half - inertia[ii]!,
    syy = half - inertia[ii + 1]!,
    szz = half - inertia[ii + 2]!;
  const sxy = -inertia[ii + 3]!,
    sxz = -inertia[ii + 4]!,
    syz = -inertia[ii + 5]!;
  const turned = (a: number, b: number) => {
    const a0 = frame[fi + 4 * a]!,
      a1 = frame[fi + 4 * a + 1]!,
      a2 = frame[fi + 4 * a + 2]!;
    const b0 = frame[fi + 4 * b]!,
      b1 = frame[fi + 4 * b + 1]!,
      b2 = frame[fi + 4 * b + 2]!;
    return (
      a0 * (sxx * b0 + sxy * b1 + sxz * b2) +
      a1 * (sxy * b0 + syy * b1 + syz * b2) +
      a2 * (sxz * b0 + syz * b1 + szz * b2)
    );
  };
  const row = (a: number) =>
    frame[fi + 4 * a]! * x + frame[fi + 4 * a + 1]! * y + frame[fi + 4 * a + 2]! * z + frame[fi + 4 * a + 3]!;
  const cx = row(0),
    cy = row(1),
    cz = row(2);
  out[to] = m;
  out[to + 1] = m * cx;
  out[to + 2] = m * cy;
  out[to + 3] = m * cz;
  out[to + 4] = turned(0, 0) + m * cx * cx;
  out[to + 5] = turned(1, 1) + m * cy * cy;
  out[to + 6] = turned(2, 2) + m * cz * cz;
  out[to + 7] = turned(0, 1) + m * cx * cy;
  out[to + 8] = turned(0, 2) + m * cx * cz;
  out[to + 9] = turned(1, 2) + m * cy * cz;
}
