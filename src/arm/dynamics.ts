/**
 * Inverse dynamics by the recursive Newton-Euler method (Luh, Walker & Paul 1980) in link axes, and the joint-space
 * inertia matrix by composite bodies (Walker & Orin 1982). Rigid links and joints; friction is not modelled.
 *
 * With U = [ẇ]× + [w]×², the force on a body is F = m·a + U·h and its moment about the frame's origin is
 * N = ∫ r × (a + U·r) dm = h × a + (the vector of U·S - (U·S)ᵀ); symbols in arm/bodies.
 */
import { ContractError } from "../math/contract-error.ts";
import { addPayload, BODY_STRIDE, linkBodies } from "./bodies.ts";
import { compositeInertia } from "./inertia-matrix.ts";
import type { Arm, Payload } from "./model.ts";

/** Dynamics of one arm with its work space: not reentrant, allocates nothing per call. Torques in N m (N for slides), base to wrist. */
export interface Dynamics {
  /**
   * Torque the drives must give for the stated motion: M(q)·q̈ + C(q, q̇)·q̇ + g(q), motor inertia included.
   * @param q rad or m   @param qd per s   @param qdd per s²
   * @param gravity acceleration of free fall in base axes, m/s², (0, 0, -9.81) for an upright arm
   * @param payload load at the flange, undefined for none   @param out length n, returned
   */
  torque(
    q: ArrayLike<number>,
    qd: ArrayLike<number>,
    qdd: ArrayLike<number>,
    gravity: ArrayLike<number>,
    payload: Payload | undefined,
    out: Float64Array,
  ): Float64Array;
  /** Torque that holds the arm still. */
  gravityTorque(
    q: ArrayLike<number>,
    gravity: ArrayLike<number>,
    payload: Payload | undefined,
    out: Float64Array,
  ): Float64Array;
  /** Joint-space inertia matrix M(q), row-major n x n in `out`, motor inertia on the diagonal. */
  massMatrix(q: ArrayLike<number>, payload: Payload | undefined, out: Float64Array): Float64Array;
}

/** Numbers kept per joint between the outward and the inward pass: cos, sin, py, pz of the origin, force, moment. */
const KEPT = 10;

/** @throws ContractError if the masses of the moving links are not known (`arm.hasMasses`) */
export function createDynamics(arm: Arm): Dynamics {
  if (!arm.hasMasses)
    throw new ContractError(
      `createDynamics: every moving link of ${arm.name} must have a mass (arm.hasMasses is false)`,
    );
  const { n, chain, prismatic, fixed, motorInertia } = arm;
  const bodies = linkBodies(arm);
  const kept = new Float64Array(KEPT * n);
  const still = new Float64Array(n);
  const composite = compositeInertia(arm);
  const loaded = new Float64Array(BODY_STRIDE);
  let isLoaded = false;

  /** Offset in `bodies` of the last link's numbers, with the payload where there is one. */
  function lastBody(payload: Payload | undefined): number {
    if (payload === undefined) return BODY_STRIDE * (n - 1);
    const { mass, centre, inertia } = payload;
    let same = isLoaded && loaded[0] === mass;
    for (let k = 0; k < 3; k++) same &&= loaded[1 + k] === centre[k];
    for (let k = 0; k < 6; k++) same &&= loaded[4 + k] === inertia[k];
    if (!same) {
      addPayload(arm, bodies, payload);
      loaded[0] = mass;
      for (let k = 0; k < 3; k++) loaded[1 + k] = centre[k]!;
      for (let k = 0; k < 6; k++) loaded[4 + k] = inertia[k]!;
      isLoaded = true;
    }
    return BODY_STRIDE * n;
  }

  function torque(
    q: ArrayLike<number>,
    qd: ArrayLike<number>,
    qdd: ArrayLike<number>,
    gravity: ArrayLike<number>,
    payload: Payload | undefined,
    out: Float64Array,
  ): Float64Array {
    const last = lastBody(payload);
    // Angular velocity w, angular acceleration e, acceleration a of the frame's origin; the base "accelerates" against gravity.
    let wx = 0,
      wy = 0,
      wz = 0,
      ex = 0,
      ey = 0,
      ez = 0;
    const g0 = gravity[0]!,
      g1 = gravity[1]!,
      g2 = gravity[2]!;
    let ax = -(fixed[0]! * g0 + fixed[4]! * g1 + fixed[8]! * g2),
      ay = -(fixed[1]! * g0 + fixed[5]! * g1 + fixed[9]! * g2),
      az = -(fixed[2]! * g0 + fixed[6]! * g1 + fixed[10]! * g2);
    let uxx = 0,
      uyy = 0,
      uzz = 0,
      uxy = 0,
      uxz = 0,
      uyx = 0,
      uyz = 0,
      uzx = 0,
      uzy = 0;

    for (let i = 0, at = 0, to = 0; i < n; i++, at += 6, to += KEPT) {
      const ca = chain[at]!,
        sa = chain[at + 1]!,
        px = chain[at + 2]!;
      let py = chain[at + 3]!,
        pz = chain[at + 4]!,
        angle = chain[at + 5]!;
      const slides = prismatic[i] === 1;
      const value = q[i]!,
        rate = qd[i]!,
        gain = qdd[i]!;
      if (slides) {
        py -= value * sa;
        pz += value * ca;
      } else {
        angle += value;
      }
      const c = Math.cos(angle),
        s = Math.sin(angle);
      kept[to] = c;
      kept[to + 1] = s;
      kept[to + 2] = py;
      kept[to + 3] = pz;

      // Acceleration of the new origin, then every vector turned by Rx(α) and Rz(angle) into the new frame.
      const bx = ax + uxx * px + uxy * py + uxz * pz,
        by = ay + uyx * px + uyy * py + uyz * pz,
        bz = az + uzx * px + uzy * py + uzz * pz;
      const wt = ca * wy + sa * wz,
        et = ca * ey + sa * ez,
        at1 = ca * by + sa * bz;
      wz = ca * wz - sa * wy;
      ez = ca * ez - sa * ey;
      az = ca * bz - sa * by;
      wy = c * wt - s * wx;
      wx = c * wx + s * wt;
      ey = c * et - s * ex;
      ex = c * ex + s * et;
      ay = c * at1 - s * bx;
      ax = c * bx + s * at1;
      if (slides) {
        ax += 2 * rate * wy;
        ay -= 2 * rate * wx;
        az += gain;
      } else {
        ex += rate * wy;
        ey -= rate * wx;
        ez += gain;
        wz += rate;
      }

      const xx = wx * wx,
        yy = wy * wy,
        zz = wz * wz,
        xy = wx * wy,
        xz = wx * wz,
        yz = wy * wz;
      uxx = -yy - zz;
      uyy = -xx - zz;
      uzz = -xx - yy;
      uxy = xy - ez;
      uyx = xy + ez;
      uxz = xz + ey;
      uzx = xz - ey;
      uyz = yz - ex;
      uzy = yz + ex;

      const b = i === n - 1 ? last : BODY_STRIDE * i;
      const m = bodies[b]!,
        hx = bodies[b + 1]!,
        hy = bodies[b + 2]!,
        hz = bodies[b + 3]!;
      const sxx = bodies[b + 4]!,
        syy = bodies[b + 5]!,
        szz = bodies[b + 6]!,
        sxy = bodies[b + 7]!,
        sxz = bodies[b + 8]!,
        syz = bodies[b + 9]!;
      kept[to + 4] = m * ax + uxx * hx + uxy * hy + uxz * hz;
      kept[to + 5] = m * ay + uyx * hx + uyy * hy + uyz * hz;
      kept[to + 6] = m * az + uzx * hx + uzy * hy + uzz * hz;
      kept[to + 7] = hy * az - hz * ay + uzx * sxy + uzy * syy + uzz * syz - uyx * sxz - uyy * syz - uyz * szz;
      kept[to + 8] = hz * ax - hx * az + uxx * sxz + uxy * syz + uxz * szz - uzx * sxx - uzy * sxy - uzz * sxz;
      kept[to + 9] = hx * ay - hy * ax + uyx * sxx + uyy * sxy + uyz * sxz - uxx * sxy - uxy * syy - uxz * syz;
    }

    let fx = 0,
      fy = 0,
      fz = 0,
      nx = 0,
      ny = 0,
      nz = 0;
    for (let i = n - 1; i >= 0; i--) {
      const at = 6 * i,
        to = KEPT * i;
      fx += kept[to + 4]!;
      fy += kept[to + 5]!;
      fz += kept[to + 6]!;
      nx += kept[to + 7]!;
      ny += kept[to + 8]!;
      nz += kept[to + 9]!;
      out[i] = (prismatic[i] === 1 ? fz : nz) + motorInertia[i]! * qdd[i]!;
      if (i === 0) break;
      // Back into the frame before: Rz(angle), then Rx(α), then the moment of the force about the other origin.
      const c = kept[to]!,
        s = kept[to + 1]!,
        py = kept[to + 2]!,
        pz = kept[to + 3]!;
      const ca = chain[at]!,
        sa = chain[at + 1]!,
        px = chain[at + 2]!;
      const ft = s * fx + c * fy,
        nt = s * nx + c * ny;
      fx = c * fx - s * fy;
      nx = c * nx - s * ny;
      fy = ca * ft - sa * fz;
      ny = ca * nt - sa * nz;
      fz = sa * ft + ca * fz;
      nz = sa * nt + ca * nz;
      nx += py * fz - pz * fy;
      ny += pz * fx - px * fz;
      nz += px * fy - py * fx;
    }
    return out;
  }

  return {
    torque,
    gravityTorque: (q, gravity, payload, out) => torque(q, still, still, gravity, payload, out),
    massMatrix: (q, payload, out) => composite(q, bodies, lastBody(payload), out),
  };
}
