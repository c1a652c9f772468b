/**
 * Banded primal-dual interior-point method for {@link RetimeProblem}: minimises ∫dw/√x.
 *
 * Each constraint g(c) >= 0 has a slack and a multiplier; the Newton system of one iteration couples neighbouring spline
 * coefficients only (half bandwidth 2) and is solved by a banded LDLᵀ. The right side J/√x of the jerk rows is convex where
 * a concave function would be needed: its curvature is left out of the Hessian, which amounts to the convex-concave
 * procedure with one Newton step per linearisation, so the matrix stays positive definite. No allocation in the loop.
 *
 * @source S. J. Wright, Primal-Dual Interior-Point Methods, 1997 (method, recalled); D. Verscheure et al., IEEE TAC 54(10),
 * 2009 (x = ṡ² as the unknown); convex-concave procedure: A. L. Yuille, A. Rangarajan, Neural Computation 15, 2003 (recalled)
 */
import { factor, substitute } from "./banded.ts";
import { constraintSteps, constraintValues } from "./constraint-values.ts";
import type { RetimeProblem } from "./retime-problem.ts";

export interface InteriorPointResult {
  readonly iterations: number;
  /** Complementarity Σ slack · multiplier over the duration: the relative distance to the optimum, about. */
  readonly gap: number;
  /** Largest violation of a (normalised) constraint. */
  readonly violation: number;
  /** The iteration broke down (limits that cannot all be met); the coefficients are of no use. */
  readonly broken: boolean;
}

/** Relative addition to the diagonal: keeps the factorisation from breaking down where the objective is all but flat. */
const RIDGE = 1e-11;

/** One solver takes one program after the other; its arrays grow to the largest of them. */
export class InteriorPoint {
  private p!: RetimeProblem;
  private n = 0;
  private m = 0;
  /** Spline coefficients, n + 2. */
  c = new Float64Array(0);
  /** x and x' at knots, x'' on intervals. */
  x = new Float64Array(0);
  x1 = new Float64Array(0);
  x2 = new Float64Array(0);
  private dx = new Float64Array(0);
  private dx1 = new Float64Array(0);
  private dx2 = new Float64Array(0);
  private d0 = new Float64Array(0);
  private d1 = new Float64Array(0);
  private d2 = new Float64Array(0);
  private rhs = new Float64Array(0);
  private slack = new Float64Array(0);
  private dual = new Float64Array(0);
  private residual = new Float64Array(0);
  private dSlack = new Float64Array(0);
  private dDual = new Float64Array(0);
  /** 1 / slack and dual / slack. */
  private inverse = new Float64Array(0);
  private weight = new Float64Array(0);

  /** Takes in a program; to be followed by `start` and `solve`. */
  load(problem: RetimeProblem): void {
    this.p = problem;
    const n = problem.n;
    this.n = n;
    if (this.c.length < n + 2) {
      const size = n + 2 + (n >> 1);
      this.c = new Float64Array(size);
      this.x = new Float64Array(size);
      this.x1 = new Float64Array(size);
      this.x2 = new Float64Array(size);
      this.dx = new Float64Array(size);
      this.dx1 = new Float64Array(size);
      this.dx2 = new Float64Array(size);
      this.d0 = new Float64Array(size);
      this.d1 = new Float64Array(size);
      this.d2 = new Float64Array(size);
      this.rhs = new Float64Array(size);
    }
    this.m =
      n + 1 + 2 * problem.linear.rows + 2 * problem.jerk.rows + problem.normAcceleration.rows + problem.normJerk.rows;
    if (this.slack.length < this.m) {
      const size = this.m + (this.m >> 1);
      this.slack = new Float64Array(size);
      this.dual = new Float64Array(size);
      this.residual = new Float64Array(size);
      this.dSlack = new Float64Array(size);
      this.dDual = new Float64Array(size);
      this.inverse = new Float64Array(size);
      this.weight = new Float64Array(size);
    }
  }

  /** Sets x to the given values and slopes at the knots as closely as the spline can. */
  start(value: (knot: number) => number): void {
    const { n, p } = this;
    const { h } = p;
    for (let k = 0; k <= n + 1; k++) {
      // Coefficient k belongs to the middle of interval k - 1.
      this.c[k] = k === 0 ? value(0) : k === n + 1 ? value(n) : (value(k - 1) + value(k)) / 2;
    }
    if (p.first) {
      this.c[0] = p.first.x - (p.first.slope * h[0]!) / 2;
      this.c[1] = p.first.x + (p.first.slope * h[0]!) / 2;
    }
    if (p.last) {
      this.c[n] = p.last.x - (p.last.slope * h[n - 1]!) / 2;
      this.c[n + 1] = p.last.x + (p.last.slope * h[n - 1]!) / 2;
    }
  }

  private knots(c: Float64Array, x: Float64Array, x1: Float64Array, x2: Float64Array): void {
    const { n } = this;
    const { h } = this.p;
    for (let k = 0; k <= n; k++) {
      const before = h[k === 0 ? 0 : k - 1]!;
      const after = h[k === n ? n - 1 : k]!;
      const both = before + after;
      const a = c[k]!;
      const b = c[k + 1]!;
      x[k] = (after * a + before * b) / both;
      x1[k] = (2 * (b - a)) / both;
    }
    for (let k = 0; k < n; k++) x2[k] = (x1[k + 1]! - x1[k]!) / h[k]!;
  }

  /** Objective ∫dw/√x by Simpson's rule. */
  private objective(): number {
    const { n, x, x1, x2 } = this;
    const { h } = this.p;
    let total = 0;
    for (let k = 0; k < n; k++) {
      const w = h[k]!;
      const mid = x[k]! + (w / 2) * (x1[k]! + (w / 4) * x2[k]!);
      total += (w / 6) * (1 / Math.sqrt(x[k]!) + 4 / Math.sqrt(mid) + 1 / Math.sqrt(x[k + 1]!));
    }
    return total;
  }

  /**
   * Iterates from the present coefficients.
   * @param resume keep slacks and multipliers of the solve before (the limits were changed a little)
   * @param gap relative gap at which to stop   @param heat complementarity to start from, relative to the duration
   * @param excess violation of a (normalised) constraint that may be left
   */
  solve(gap: number, heat: number, maxIterations: number, resume = false, excess = 1e-3): InteriorPointResult {
    const { n, p, c, x, x1, x2, dx, dx1, dx2, slack, dual, residual, m, d0, d1, d2, rhs } = this;
    const { dSlack, dDual, inverse, weight } = this;
    const { h } = p;
    this.knots(c, x, x1, x2);
    constraintValues(p, x, x1, x2, residual);
    let f = this.objective();
    const mu0 = (heat * f) / m;
    for (let i = 0; i < m; i++) {
      slack[i] = Math.max(residual[i]!, resume ? 1e-3 : 0.02);
      dual[i] = resume ? Math.max(dual[i]!, mu0 / slack[i]!) : mu0 / slack[i]!;
    }
    let iteration = 0;
    let sigma = 0.2;
    let comp = heat;
    let violation = 0;
    let change = Number.POSITIVE_INFINITY;
    for (; iteration < maxIterations; iteration++) {
      let sum = 0;
      violation = 0;
      for (let i = 0; i < m; i++) {
        const g = residual[i]!;
        const gap = slack[i]!;
        const z = dual[i]!;
        if (g < -violation) violation = -g;
        residual[i] = g - gap;
        sum += gap * z;
        const over = 1 / gap;
        inverse[i] = over;
        weight[i] = z * over;
      }
      comp = sum / f;
      if (comp < gap && violation < excess && change < gap) break;
      const target = (sigma * sum) / m;
      this.assemble(target);
      for (let k = 0; k < n + 2; k++) d0[k] = d0[k]! * (1 + RIDGE);
      if (p.first) this.fix(0);
      if (p.last) this.fix(n);
      factor(d0, d1, d2, n + 2);
      substitute(d0, d1, d2, rhs, n + 2);
      this.knots(rhs, dx, dx1, dx2);
      // Steps.
      constraintSteps(p, x, x1, x2, dx, dx1, dx2, dSlack);
      let primal = 1;
      let dualStep = 1;
      for (let i = 0; i < m; i++) {
        const z = dual[i]!;
        const ds = dSlack[i]! + residual[i]!;
        const dz = target * inverse[i]! - weight[i]! * ds - z;
        dSlack[i] = ds;
        dDual[i] = dz;
        if (primal * ds < -0.99 * slack[i]!) primal = (-0.99 * slack[i]!) / ds;
        if (dualStep * dz < -0.99 * z) dualStep = (-0.99 * z) / dz;
      }
      for (let k = 0; k <= n; k++) {
        const d = dx[k]!;
        if (d < 0 && x[k]! + primal * d < 0.2 * x[k]!) primal = (-0.8 * x[k]!) / d;
      }
      for (let e = 0; e < p.places.length; e++) {
        const k = p.places[e]!;
        const t = p.offsets[e]!;
        if (t === 0 || t === h[k]) continue;
        const at = x[k]! + t * (x1[k]! + (t / 2) * x2[k]!);
        const d = dx[k]! + t * (dx1[k]! + (t / 2) * dx2[k]!);
        if (d < 0 && at + primal * d < 0.2 * at) primal = (-0.8 * at) / d;
      }
      for (let k = 0; k < n; k++) {
        const w = h[k]!;
        const mid = x[k]! + (w / 2) * (x1[k]! + (w / 4) * x2[k]!);
        const d = dx[k]! + (w / 2) * (dx1[k]! + (w / 4) * dx2[k]!);
        if (d < 0 && mid + primal * d < 0.2 * mid) primal = (-0.8 * mid) / d;
      }
      for (let k = 0; k < n + 2; k++) c[k] = c[k]! + primal * rhs[k]!;
      for (let i = 0; i < m; i++) {
        slack[i] = slack[i]! + primal * dSlack[i]!;
        dual[i] = dual[i]! + dualStep * dDual[i]!;
      }
      this.knots(c, x, x1, x2);
      constraintValues(p, x, x1, x2, residual);
      const before = f;
      f = this.objective();
      change = Math.abs(f - before) / f;
      if (!(f > 0 && f < Number.POSITIVE_INFINITY))
        return { iterations: iteration, gap: comp, violation, broken: true };
      const step = Math.min(primal, dualStep);
      sigma = Math.max(0.05, Math.min(1, 1.2 * (1 - step)));
    }
    return { iterations: iteration, gap: comp, violation, broken: false };
  }

  private fix(first: number): void {
    const { d0, d1, d2, rhs } = this;
    for (let k = first; k <= first + 1; k++) {
      d0[k] = 1;
      rhs[k] = 0;
      d1[k] = 0;
      d2[k] = 0;
      if (k >= 1) d1[k - 1] = 0;
      if (k >= 2) d2[k - 2] = 0;
    }
  }

  /** Newton matrix (bands d0, d1, d2) and right side. */
  private assemble(target: number): void {
    const { n, p, x, x1, x2, dual, residual, inverse, weight, d0, d1, d2, rhs } = this;
    const { h } = p;
    d0.fill(0, 0, n + 2);
    d1.fill(0, 0, n + 2);
    d2.fill(0, 0, n + 2);
    rhs.fill(0, 0, n + 2);
    const lin = p.linear;
    const na = p.normAcceleration;
    const jerk = p.jerk;
    const nj = p.normJerk;
    const places = p.places;
    const count = places.length;
    const offsets = p.offsets;
    let e = 0;
    let iLin = n + 1;
    let iJerk = iLin + 2 * lin.rows;
    let iNa = iJerk + 2 * jerk.rows;
    let iNj = iNa + na.rows;
    for (let k = 0; k <= n; k++) {
      const before = h[k === 0 ? 0 : k - 1]!;
      const after = h[k === n ? n - 1 : k]!;
      const both = before + after;
      const xk = x[k]!;
      const yk = x1[k]!;
      const width = ((k === 0 ? 0 : before) + (k === n ? 0 : after)) / 6;
      const root = 1 / Math.sqrt(xk);
      const cube = root / xk;
      let hxx = (0.75 * width * cube) / xk;
      let hxy = 0;
      let hyy = 0;
      let bx = 0.5 * width * cube;
      let by = 0;
      {
        const inv = Number.isFinite(p.cap[k]!) ? -1 / p.cap[k]! : 0;
        const w = weight[k]!;
        hxx += w * inv * inv;
        bx += inv * (target * inverse[k]! - w * residual[k]!);
      }
      for (let r = lin.start[k]!; r < lin.start[k + 1]!; r++) {
        const o = 4 * r;
        const a = lin.data[o]!;
        const b = lin.data[o + 1]!;
        const wh = weight[iLin]!;
        const wl = weight[iLin + 1]!;
        const w = wh + wl;
        hxx += w * a * a;
        hxy += w * a * b;
        hyy += w * b * b;
        const q =
          target * inverse[iLin + 1]! - wl * residual[iLin + 1]! - (target * inverse[iLin]! - wh * residual[iLin]!);
        bx += q * a;
        by += q * b;
        iLin += 2;
      }
      for (let r = na.start[k]!; r < na.start[k + 1]!; r++) {
        const o = 6 * r;
        let gx = 0;
        let gy = 0;
        const w = weight[iNa]!;
        const z = dual[iNa]!;
        for (let d = 0; d < 3; d++) {
          const a = na.data[o + d]!;
          const b = na.data[o + 3 + d]!;
          const v = a * xk + b * yk;
          gx -= v * a;
          gy -= v * b;
          hxx += z * a * a;
          hxy += z * a * b;
          hyy += z * b * b;
        }
        hxx += w * gx * gx;
        hxy += w * gx * gy;
        hyy += w * gy * gy;
        const q = target * inverse[iNa]! - w * residual[iNa]!;
        bx += q * gx;
        by += q * gy;
        iNa++;
      }
      // x = (after a + before b)/both, x' = 2(b - a)/both.
      const xa = after / both;
      const xb = before / both;
      const ya = -2 / both;
      const yb = 2 / both;
      d0[k] = d0[k]! + hxx * xa * xa + 2 * hxy * xa * ya + hyy * ya * ya;
      d1[k] = d1[k]! + hxx * xa * xb + hxy * (xa * yb + xb * ya) + hyy * ya * yb;
      d0[k + 1] = d0[k + 1]! + hxx * xb * xb + 2 * hxy * xb * yb + hyy * yb * yb;
      rhs[k] = rhs[k]! + bx * xa + by * ya;
      rhs[k + 1] = rhs[k + 1]! + bx * xb + by * yb;
    }
    for (let k = 0; k < n; k++) {
      const w = h[k]!;
      const before = h[k === 0 ? 0 : k - 1]!;
      const after = h[k === n - 1 ? n - 1 : k + 1]!;
      // Left knot from c[k], c[k+1]; right knot from c[k+1], c[k+2].
      const lb = before + w;
      const rb = w + after;
      const lxa = w / lb;
      const lxb = before / lb;
      const ly = 2 / lb;
      const ry = 2 / rb;
      const za = ly / w;
      const zb = -(ly + ry) / w;
      const zc = ry / w;
      // Middle point for Simpson's rule: x + w/2 x' + w²/8 x''.
      const mid = x[k]! + (w / 2) * (x1[k]! + (w / 4) * x2[k]!);
      const rootM = 1 / Math.sqrt(mid);
      const cubeM = rootM / mid;
      const mh = (0.5 * w * cubeM) / mid;
      const mb = (w / 3) * cubeM;
      const ma = lxa - (w / 2) * ly + (w * w * za) / 8;
      const mm = lxb + (w / 2) * ly + (w * w * zb) / 8;
      const mc = (w * w * zc) / 8;
      let h00 = mh * ma * ma;
      let h01 = mh * ma * mm;
      let h02 = mh * ma * mc;
      let h11 = mh * mm * mm;
      let h12 = mh * mm * mc;
      let h22 = mh * mc * mc;
      let b0 = mb * ma;
      let b1 = mb * mm;
      let b2 = mb * mc;
      for (; e < count && places[e] === k; e++) {
        const t = offsets[e]!;
        const zk = x2[k]!;
        const yk = x1[k]! + t * zk;
        const xk = x[k]! + t * (x1[k]! + (t * zk) / 2);
        const room = p.jerkRoom[e]!;
        const qx = (-0.5 * room) / (xk * Math.sqrt(xk));
        let hxx = 0;
        let hxy = 0;
        let hxz = 0;
        let hyy = 0;
        let hyz = 0;
        let hzz = 0;
        let bx = 0;
        let by = 0;
        let bz = 0;
        for (let r = jerk.start[e]!; r < jerk.start[e + 1]!; r++) {
          const o = 3 * r;
          const a = jerk.data[o]!;
          const b = jerk.data[o + 1]!;
          const g = jerk.data[o + 2]!;
          const wh = weight[iJerk]!;
          const wl = weight[iJerk + 1]!;
          const qh = target * inverse[iJerk]! - wh * residual[iJerk]!;
          const ql = target * inverse[iJerk + 1]! - wl * residual[iJerk + 1]!;
          const sum = wh + wl;
          // Gradients (qx - a, -b, -g) and (qx + a, b, g).
          const cross = (wl - wh) * qx + sum * a;
          hxx += sum * (qx * qx + a * a) + 2 * (wl - wh) * qx * a;
          hxy += cross * b;
          hxz += cross * g;
          hyy += sum * b * b;
          hyz += sum * b * g;
          hzz += sum * g * g;
          const q = ql - qh;
          bx += (qh + ql) * qx + q * a;
          by += q * b;
          bz += q * g;
          iJerk += 2;
        }
        for (let r = nj.start[e]!; r < nj.start[e + 1]!; r++) {
          const o = 9 * r;
          const z = dual[iNj]!;
          const wgt = weight[iNj]!;
          let gx = (-0.5 * room * room) / (xk * xk);
          let gy = 0;
          let gz = 0;
          for (let d = 0; d < 3; d++) {
            const a = nj.data[o + d]!;
            const b = nj.data[o + 3 + d]!;
            const g = nj.data[o + 6 + d]!;
            const v = a * xk + b * yk + g * zk;
            gx -= v * a;
            gy -= v * b;
            gz -= v * g;
            hxx += z * a * a;
            hxy += z * a * b;
            hxz += z * a * g;
            hyy += z * b * b;
            hyz += z * b * g;
            hzz += z * g * g;
          }
          hxx += wgt * gx * gx;
          hxy += wgt * gx * gy;
          hxz += wgt * gx * gz;
          hyy += wgt * gy * gy;
          hyz += wgt * gy * gz;
          hzz += wgt * gz * gz;
          const q = target * inverse[iNj]! - wgt * residual[iNj]!;
          bx += q * gx;
          by += q * gy;
          bz += q * gz;
          iNj++;
        }
        // Rows of the map from (c[k], c[k+1], c[k+2]) to (x, x', x'').
        const half = (t * t) / 2;
        const xa = lxa - t * ly + half * za;
        const xb = lxb + t * ly + half * zb;
        const xc = half * zc;
        const ya = t * za - ly;
        const yb = t * zb + ly;
        const yc = t * zc;
        const pxa = hxx * xa + hxy * ya + hxz * za;
        const pya = hxy * xa + hyy * ya + hyz * za;
        const pza = hxz * xa + hyz * ya + hzz * za;
        const pxb = hxx * xb + hxy * yb + hxz * zb;
        const pyb = hxy * xb + hyy * yb + hyz * zb;
        const pzb = hxz * xb + hyz * yb + hzz * zb;
        const pxc = hxx * xc + hxy * yc + hxz * zc;
        const pyc = hxy * xc + hyy * yc + hyz * zc;
        const pzc = hxz * xc + hyz * yc + hzz * zc;
        h00 += xa * pxa + ya * pya + za * pza;
        h01 += xa * pxb + ya * pyb + za * pzb;
        h02 += xa * pxc + ya * pyc + za * pzc;
        h11 += xb * pxb + yb * pyb + zb * pzb;
        h12 += xb * pxc + yb * pyc + zb * pzc;
        h22 += xc * pxc + yc * pyc + zc * pzc;
        b0 += bx * xa + by * ya + bz * za;
        b1 += bx * xb + by * yb + bz * zb;
        b2 += bx * xc + by * yc + bz * zc;
      }
      d0[k] = d0[k]! + h00;
      d1[k] = d1[k]! + h01;
      d2[k] = d2[k]! + h02;
      d0[k + 1] = d0[k + 1]! + h11;
      d1[k + 1] = d1[k + 1]! + h12;
      d0[k + 2] = d0[k + 2]! + h22;
      rhs[k] = rhs[k]! + b0;
      rhs[k + 1] = rhs[k + 1]! + b1;
      rhs[k + 2] = rhs[k + 2]! + b2;
    }
  }
}
