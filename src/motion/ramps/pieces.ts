/** A law made of pieces of constant jerk, looked at under the limits of its path. */
import { jerkProfile, type Profile } from "../timing/profile.ts";
import type { Allowance } from "./allowance.ts";
import { phases, type Ramp } from "./ramp.ts";

/** Intervals per piece at which it is looked at. */
const FINE = 10;
/** Phases that need less than the largest need by more than this are not looked at again, the others in so many steps. */
const NEAR = 1e-3;
const GOLDEN_STEPS = 7;

const times = new Float64Array(3);

/** Pieces of constant jerk, one after the other. */
export class Pieces {
  private readonly durations: number[] = [];
  private readonly jerks: number[] = [];

  add(duration: number, jerk: number): void {
    if (!(duration > 0)) return;
    this.durations.push(duration);
    this.jerks.push(jerk);
  }

  ramp(ramp: Ramp, v0: number, v1: number): void {
    phases(ramp, Math.abs(v1 - v0), times);
    const sign = v1 >= v0 ? 1 : -1;
    this.add(times[0], sign * ramp.firstJerk);
    this.add(times[1], 0);
    this.add(times[2], -sign * ramp.lastJerk);
  }

  /** Largest factor by which time must be stretched: looked for at points of every piece, then around the largest ones. */
  look(allowance: Allowance, length: number): number {
    const starts: { s: number; v: number; a: number; most: number; when: number }[] = [];
    const needAt = (k: number, share: number): number => {
      const { s, v, a } = starts[k];
      const j = this.jerks[k];
      const t = share * this.durations[k];
      allowance.load(Math.min(length, Math.max(0, s + t * (v + t * (a / 2 + (t * j) / 6)))));
      return allowance.need(v + t * (a + (t * j) / 2), a + t * j, j);
    };
    let most = 0;
    let s = 0;
    let v = 0;
    let a = 0;
    for (let k = 0; k < this.durations.length; k++) {
      const piece = { s, v, a, most: 0, when: 0 };
      starts.push(piece);
      for (let p = 0; p <= FINE; p++) {
        const need = needAt(k, p / FINE);
        if (need > piece.most) {
          piece.most = need;
          piece.when = p / FINE;
        }
      }
      most = Math.max(most, piece.most);
      const d = this.durations[k];
      const j = this.jerks[k];
      s += d * (v + d * (a / 2 + (d * j) / 6));
      v += d * (a + (d * j) / 2);
      a += d * j;
    }
    for (let k = 0; k < starts.length; k++) {
      if (starts[k].most < most - NEAR) continue;
      let low = Math.max(0, starts[k].when - 1 / FINE);
      let high = Math.min(1, starts[k].when + 1 / FINE);
      for (let step = 0; step < GOLDEN_STEPS; step++) {
        const one = low + 0.382 * (high - low);
        const two = high - 0.382 * (high - low);
        const first = needAt(k, one);
        const second = needAt(k, two);
        most = Math.max(most, first, second);
        if (first > second) high = two;
        else low = one;
      }
    }
    return most;
  }

  /** The law with time stretched by a factor, ending in rest at `length`. */
  profile(length: number, stretch: number): Profile {
    const durations = Float64Array.from(this.durations, (d) => d * stretch);
    const jerks = Float64Array.from(this.jerks, (j) => j / stretch ** 3);
    return { ...jerkProfile(0, 0, 0, durations, jerks), end: Float64Array.of(length, 0, 0) };
  }
}
