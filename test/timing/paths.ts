/** Analytic paths for the timing tests. */
import type { TimedPath } from "../../src/motion/timing/index.ts";
import { seeded } from "./random.ts";

/** Sums of two sines and a slope per channel: curved everywhere, speeds of order 1 to 5 per unit length. */
export function wavyPath(channels: number, seed: number, length = 1): TimedPath {
  const random = seeded(seed);
  const shape = Array.from({ length: channels }, () => ({
    a: random(),
    b: 0.5 * random(),
    w: 1 + 2 * random(),
    v: 3 + 3 * random(),
    p: 6 * random(),
    q: 6 * random(),
    m: random() - 0.5,
  }));
  return {
    channels,
    length,
    breaks: [],
    evaluate(s, c, c1, c2, c3) {
      shape.forEach(({ a, b, w, v, p, q, m }, i) => {
        c[i] = a * Math.sin(w * s + p) + b * Math.sin(v * s + q) + m * s;
        c1[i] = a * w * Math.cos(w * s + p) + b * v * Math.cos(v * s + q) + m;
        c2[i] = -a * w * w * Math.sin(w * s + p) - b * v * v * Math.sin(v * s + q);
        c3[i] = -a * w ** 3 * Math.cos(w * s + p) - b * v ** 3 * Math.cos(v * s + q);
      });
    },
  };
}

/** The same path from its end to its start. */
export function reversed(path: TimedPath): TimedPath {
  return {
    channels: path.channels,
    length: path.length,
    breaks: path.breaks.map((s) => path.length - s).reverse(),
    evaluate(s, c, c1, c2, c3) {
      path.evaluate(path.length - s, c, c1, c2, c3);
      for (let i = 0; i < path.channels; i++) {
        c1[i] = -c1[i]!;
        c3[i] = -c3[i]!;
      }
    },
  };
}

/** Straight path with the given constant rates. */
export function straightPath(rates: readonly number[], length: number): TimedPath {
  return {
    channels: rates.length,
    length,
    breaks: [],
    evaluate(s, c, c1, c2, c3) {
      rates.forEach((rate, i) => {
        c[i] = rate * s;
        c1[i] = rate;
        c2[i] = 0;
        c3[i] = 0;
      });
    },
  };
}

/** Quarter circle of radius R in two channels, s = arc length. */
export function quarterCircle(R: number): TimedPath {
  return {
    channels: 2,
    length: (Math.PI / 2) * R,
    breaks: [],
    evaluate(s, c, c1, c2, c3) {
      const x = Math.cos(s / R);
      const y = Math.sin(s / R);
      c[0] = R * x;
      c[1] = R * y;
      c1[0] = -y;
      c1[1] = x;
      c2[0] = -x / R;
      c2[1] = -y / R;
      c3[0] = y / R ** 2;
      c3[1] = -x / R ** 2;
    },
  };
}

/** Channel 0 straight, channel 1 turning from level to slope 1 within ±w of the middle: a blended corner with breaks. */
export function blendedCorner(w: number): TimedPath {
  const k = 1 / (2 * w);
  return {
    channels: 2,
    length: 1,
    breaks: [0.5 - w, 0.5 + w],
    evaluate(s, c, c1, c2, c3) {
      const u = (s - (0.5 - w)) * k;
      c[0] = s;
      c1[0] = 1;
      c2[0] = 0;
      c3[0] = 0;
      const inside = u > 0 && u < 1;
      c[1] = u <= 0 ? 0 : u >= 1 ? s - 0.5 : (u ** 3 - u ** 4 / 2) / k;
      c1[1] = u <= 0 ? 0 : u >= 1 ? 1 : 3 * u ** 2 - 2 * u ** 3;
      c2[1] = inside ? (6 * u - 6 * u ** 2) * k : 0;
      c3[1] = inside ? (6 - 12 * u) * k * k : 0;
    },
  };
}

/** Two joints that move wavily and a tool point that runs along an arc of the given radius at unit rate. */
export function toolArc(radius: number, length: number, seed: number): TimedPath {
  const joints = wavyPath(2, seed, length);
  return {
    channels: 5,
    length,
    breaks: [],
    evaluate(s, c, c1, c2, c3) {
      joints.evaluate(s, c, c1, c2, c3);
      const x = Math.cos(s / radius);
      const y = Math.sin(s / radius);
      c.set([radius * x, radius * y, 0], 2);
      c1.set([-y, x, 0], 2);
      c2.set([-x / radius, -y / radius, 0], 2);
      c3.set([y / radius ** 2, -x / radius ** 2, 0], 2);
    },
  };
}
