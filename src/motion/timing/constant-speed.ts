/** Law of a stretch on which group 0 (the tool point) keeps a stated speed exactly. */
import { intervalOf } from "./interval-of.ts";
import type { PathState, PathTimingFailure } from "./path-types.ts";
import { LIMIT, limitId, limitName, type PathUse } from "./path-use.ts";

/** Points per stretch between borders at which the limits are checked and the passing time is tabulated. */
const POINTS = 64;
/** Relative excess over a limit that is taken for rounding. */
const ROUNDING = 1e-9;

/**
 * With n = |g'(s)| of group 0 and its speed v: ṡ = v/n, s̈ = -v² n'/n³, s⃛ = v³ (3 n'²/n⁵ - n''/n⁴).
 */
export class ConstantSpeedLaw {
  readonly duration: number;
  private readonly use: PathUse;
  private readonly speed: number;
  private readonly s: Float64Array;
  private readonly times: Float64Array;
  private sd = 0;
  private sdd = 0;
  private sddd = 0;

  /** @param knots ascending, from the start to the end of the stretch, breaks included */
  constructor(use: PathUse, speed: number, knots: readonly number[]) {
    this.use = use;
    this.speed = speed;
    const s: number[] = [knots[0]!];
    for (let i = 1; i < knots.length; i++) {
      const from = knots[i - 1]!;
      for (let p = 1; p <= POINTS; p++) s.push(p === POINTS ? knots[i]! : from + ((knots[i]! - from) * p) / POINTS);
    }
    this.s = Float64Array.from(s);
    this.times = new Float64Array(s.length);
    for (let i = 1; i < s.length; i++) this.times[i] = this.times[i - 1]! + this.passTime(s[i - 1]!, s[i]!);
    this.duration = this.times[s.length - 1]!;
  }

  /** Where and by what the speed cannot be kept; undefined if it can. */
  failure(): PathTimingFailure | undefined {
    for (let i = 0; i < this.s.length; i++) {
      for (const side of [1, -1] as const) {
        if ((i === 0 && side < 0) || (i === this.s.length - 1 && side > 0)) continue;
        const s = this.s[i]!;
        this.at(s, side);
        if (!Number.isFinite(this.sd)) {
          return { ok: false, reason: "constant speed", s, limit: limitName(limitId(LIMIT.constantSpeed, 0)) };
        }
        this.use.measure(this.sd, this.sdd, this.sddd);
        if (this.use.use > 1 + ROUNDING) {
          return { ok: false, reason: "constant speed", s, limit: limitName(this.use.useId), use: this.use.use };
        }
      }
    }
    return undefined;
  }

  /** ṡ and s̈ at an end of the stretch. */
  end(last: boolean): { sd: number; sdd: number } {
    this.at(last ? this.s[this.s.length - 1]! : this.s[0]!, last ? -1 : 1);
    return { sd: this.sd, sdd: this.sdd };
  }

  sample(time: number, out: PathState): void {
    const { s, times } = this;
    const t = Math.min(this.duration, Math.max(0, time));
    const k = intervalOf(times, t, times.length - 1);
    let at = s[k]! + ((s[k + 1]! - s[k]!) * (t - times[k]!)) / (times[k + 1]! - times[k]!);
    for (let i = 0; i < 8; i++) {
      const miss = t - times[k]! - this.passTime(s[k]!, at);
      this.at(at, 1);
      const next = Math.min(s[k + 1]!, Math.max(s[k]!, at + miss * this.sd));
      const done = Math.abs(next - at) <= 1e-14 * this.use.path.length;
      at = next;
      if (done) break;
    }
    this.at(at, at >= s[k + 1]! ? -1 : 1);
    out.s = at;
    out.sd = this.sd;
    out.sdd = this.sdd;
    out.sddd = this.sddd;
  }

  timeAt(s: number): number {
    const at = Math.min(this.s[this.s.length - 1]!, Math.max(this.s[0]!, s));
    const k = intervalOf(this.s, at, this.s.length - 1);
    return this.times[k]! + this.passTime(this.s[k]!, at);
  }

  /** ∫ n ds / v by three-point Gauss-Legendre. */
  private passTime(from: number, to: number): number {
    const half = (to - from) / 2;
    const offset = Math.sqrt(0.6) * half;
    const sum = 5 * this.norm(from + half - offset) + 8 * this.norm(from + half) + 5 * this.norm(from + half + offset);
    return (half * sum) / (9 * this.speed);
  }

  private norm(s: number): number {
    const { path, limits } = this.use;
    path.evaluate(s, this.use.c, this.use.c1, this.use.c2, this.use.c3);
    const { first, size } = limits.groups[0]!;
    let n = 0;
    for (let i = first; i < first + size; i++) n += this.use.c1[i]! ** 2;
    return Math.sqrt(n);
  }

  /** Loads the path at s and computes the state there. */
  private at(s: number, side: 1 | -1): void {
    const { use, speed } = this;
    use.load(s, side);
    const { first, size } = use.limits.groups[0]!;
    let n2 = 0;
    let cross = 0;
    let bend = 0;
    for (let i = first; i < first + size; i++) {
      n2 += use.c1[i]! ** 2;
      cross += use.c1[i]! * use.c2[i]!;
      bend += use.c2[i]! ** 2 + use.c1[i]! * use.c3[i]!;
    }
    const n = Math.sqrt(n2);
    const n1 = cross / n;
    const nn = bend / n - (n1 * n1) / n;
    this.sd = speed / n;
    this.sdd = (-this.sd * this.sd * n1) / n;
    this.sddd = this.sd ** 3 * ((3 * n1 * n1) / n2 - nn / n);
  }
}
