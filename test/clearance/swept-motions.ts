/** Random joint trajectories whose bounds are exact by their form, and the least distance found by sampling, for tests. */
import type { Arm } from "../../src/arm/index.ts";
import { jointFrames, linkFrames } from "../../src/arm/index.ts";
import {
  type Body,
  createBodySet,
  newDistance,
  type Slide,
  type SweptBody,
  type SweptMotion,
} from "../../src/clearance/index.ts";
import { compose, type Pose, rotationAbout } from "../../src/math/index.ts";

type Random = () => number;

/** Each joint a sine of its own amplitude, rate and phase: q(t) = c + a sin(w t + p). */
export function sineMotion(n: number, duration: number, random: Random, amplitude: number): SweptMotion {
  const rows = Array.from({ length: n }, () => ({
    c: 4 * random() - 2,
    a: amplitude * random(),
    w: 6 * random(),
    p: 7 * random(),
  }));
  return {
    duration,
    position(time, q) {
      for (const [j, { c, a, w, p }] of rows.entries()) q[j] = c + a * Math.sin(w * time + p);
    },
    spread(from, to, out) {
      for (const [j, { a, w, p }] of rows.entries()) {
        // Least and greatest sine over the interval: at its ends, or 1 or -1 where a crest or a trough lies inside.
        const x0 = w * from + p,
          x1 = w * to + p,
          middle = Math.sin((x0 + x1) / 2);
        const holds = (at: number) => Math.ceil((x0 - at) / (2 * Math.PI)) * 2 * Math.PI + at <= x1;
        const most = holds(Math.PI / 2) ? 1 : Math.max(Math.sin(x0), Math.sin(x1));
        const least = holds(-Math.PI / 2) ? -1 : Math.min(Math.sin(x0), Math.sin(x1));
        out[j] = a * Math.max(most - middle, middle - least) + 1e-14;
      }
    },
  };
}

/** Each joint a chain of parabolas with random accelerations: q'' is constant between the knots, q and q' do not jump. */
export function splineMotion(n: number, duration: number, random: Random, amplitude: number): SweptMotion {
  const knots = 2 + Math.floor(5 * random());
  const h = duration / knots;
  const rows = Array.from({ length: n }, () => {
    const pieces: { q: number; v: number; a: number }[] = [];
    let q = 4 * random() - 2,
      v = (amplitude * (2 * random() - 1)) / duration;
    for (let k = 0; k < knots; k++) {
      const a = (4 * amplitude * (2 * random() - 1)) / (duration * duration);
      pieces.push({ q, v, a });
      q += h * (v + (h * a) / 2);
      v += h * a;
    }
    return pieces;
  });
  const value = (pieces: (typeof rows)[0], time: number) => {
    const k = Math.min(knots - 1, Math.max(0, Math.floor(time / h)));
    const { q, v, a } = pieces[k]!,
      t = time - k * h;
    return q + t * (v + (t * a) / 2);
  };
  return {
    duration,
    position(time, q) {
      for (const [j, pieces] of rows.entries()) q[j] = value(pieces, time);
    },
    spread(from, to, out) {
      for (const [j, pieces] of rows.entries()) {
        const middle = value(pieces, (from + to) / 2);
        let most = Math.max(Math.abs(value(pieces, from) - middle), Math.abs(value(pieces, to) - middle));
        for (const [k, { q, v, a }] of pieces.entries()) {
          // Knots and turning points inside.
          const turning = a === 0 ? -1 : -v / a;
          for (const t of [0, turning])
            if (t >= 0 && t <= h && k * h + t > from && k * h + t < to)
              most = Math.max(most, Math.abs(q + t * (v + (t * a) / 2) - middle));
        }
        out[j] = most + 1e-14;
      }
    },
  };
}

/** Place of a slide's owner at a share, made here without the program's own: straight origin, turned about one axis. */
export function ownerAt(
  { baseFromOwnerStart, baseFromOwnerEnd }: Slide,
  axis: readonly number[],
  angle: number,
  share: number,
): Pose {
  const pose = compose(rotationAbout(axis, share * angle), baseFromOwnerStart);
  for (const k of [3, 7, 11])
    pose[k] = baseFromOwnerStart[k]! + share * (baseFromOwnerEnd[k]! - baseFromOwnerStart[k]!);
  return pose;
}

/** A slide of known axis and angle (below half a turn). */
export function makeSlide(start: Pose, shift: readonly number[], axis: readonly number[], angle: number): Slide {
  const end = compose(rotationAbout(axis, angle), start);
  for (const [i, k] of [3, 7, 11].entries()) end[k] = start[k]! + shift[i]!;
  return { baseFromOwnerStart: start, baseFromOwnerEnd: end };
}

/** Link frames 1 to n and the flange, base axes, as `SweptBody.frame` counts them. */
export function carrierFrames(arm: Arm, q: ArrayLike<number>, out: Float64Array): Float64Array {
  const all = linkFrames(arm, q, new Float64Array(12 * (arm.n + 1)));
  const kernel = jointFrames(arm, q, new Float64Array(12 * (arm.n + 1)));
  out.set(all.subarray(12));
  out.set(kernel.subarray(12 * arm.n), 12 * arm.n);
  return out;
}

/** Least signed distance of the pairs over `times` and owners' places, one by one. */
export function sampledMinimum(
  arm: Arm,
  bodies: readonly SweptBody[],
  pairs: readonly (readonly [number, number])[],
  motion: SweptMotion,
  times: number,
  owners: readonly ((share: number) => Pose)[] = [],
  shares = 1,
): number {
  const n = arm.n;
  const set = createBodySet(
    bodies.map(({ body, frame, frameFromBody, slide }) => ({
      body,
      frame: slide === undefined ? frame : n + 1 + slide,
      frameFromBody,
    })),
    n + 1 + owners.length,
    pairs,
  );
  const frames = new Float64Array(12 * (n + 1 + owners.length));
  const q = new Float64Array(n),
    out = newDistance();
  let least = Number.POSITIVE_INFINITY;
  for (let k = 0; k <= times; k++) {
    motion.position((motion.duration * k) / times, q);
    carrierFrames(arm, q, frames.subarray(0, 12 * (n + 1)));
    for (let u = 0; u < shares; u++) {
      for (const [s, owner] of owners.entries())
        frames.set(owner(shares > 1 ? u / (shares - 1) : 0).subarray(0, 12), 12 * (n + 1 + s));
      set.place(frames);
      least = Math.min(least, set.minimumDistance(out));
    }
  }
  return least;
}

export const fixedBody = (body: Body, frameFromBody: Pose): SweptBody => ({ body, frame: -1, frameFromBody });
