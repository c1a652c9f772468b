/** The arm at one state: chain frames, bodies placed when asked for, and how fast the bodies move along an edge. */
import { BOX, type Body, CYLINDER } from "../clearance/body.ts";
import { multiply } from "../clearance/frames.ts";
import { coreRadius, type StandingScene } from "./standing-scene.ts";

export class ChainState {
  /** Base from body, 12 numbers each; valid once placed. */
  readonly poses: Float64Array;
  /** Box along the base axes around each body: middle (3), half extents (3). */
  readonly boxes: Float64Array;
  /** Rates of approach found last by `approach`, m per unit of the edge, backwards and forwards. */
  minus = 0;
  plus = 0;
  private readonly scene: StandingScene;
  /** Chain frames after each joint's motion. */
  readonly frames: Float64Array;
  /** Turning and the speed of the point at the base origin, of what the first k joints move: 6 numbers for each k. */
  private readonly twists: Float64Array;
  private readonly placed: Int32Array;
  private readonly cores: Float64Array;
  private stamp = 0;

  constructor(scene: StandingScene) {
    this.scene = scene;
    const { bodies, depth, local, arm } = scene;
    this.poses = new Float64Array(local);
    this.boxes = new Float64Array(6 * bodies.length);
    this.frames = new Float64Array(12 * arm.n);
    this.twists = new Float64Array(6 * (arm.n + 1));
    this.placed = new Int32Array(bodies.length);
    this.cores = Float64Array.from(bodies, coreRadius);
    for (let i = 0; i < bodies.length; i++)
      if (depth[i] === 0) {
        fitBox(bodies[i]!, this.poses, 12 * i, this.boxes, 6 * i);
        this.placed[i] = -1;
      }
  }

  /** Chain frames at `q`. Bodies are placed again only when asked for. */
  moveTo(q: ArrayLike<number>): void {
    const { frames } = this;
    const { fixed, chain, prismatic, n } = this.scene.arm;
    this.stamp = (this.stamp + 1) & 0x3fffffff;
    let x0 = fixed[0]!,
      y0 = fixed[1]!,
      z0 = fixed[2]!,
      p0 = fixed[3]!,
      x1 = fixed[4]!,
      y1 = fixed[5]!,
      z1 = fixed[6]!,
      p1 = fixed[7]!,
      x2 = fixed[8]!,
      y2 = fixed[9]!,
      z2 = fixed[10]!,
      p2 = fixed[11]!;
    for (let i = 0, at = 0, to = 0; i < n; i++, at += 6, to += 12) {
      if (i > 0) {
        const ca = chain[at]!,
          sa = chain[at + 1]!,
          px = chain[at + 2]!,
          py = chain[at + 3]!,
          pz = chain[at + 4]!;
        p0 += px * x0 + py * y0 + pz * z0;
        p1 += px * x1 + py * y1 + pz * z1;
        p2 += px * x2 + py * y2 + pz * z2;
        const w0 = ca * z0 - sa * y0,
          w1 = ca * z1 - sa * y1,
          w2 = ca * z2 - sa * y2;
        y0 = ca * y0 + sa * z0;
        y1 = ca * y1 + sa * z1;
        y2 = ca * y2 + sa * z2;
        z0 = w0;
        z1 = w1;
        z2 = w2;
      }
      let angle = chain[at + 5]!;
      const value = q[i]!;
      if (prismatic[i] === 0) angle += value;
      else {
        p0 += value * z0;
        p1 += value * z1;
        p2 += value * z2;
      }
      const c = Math.cos(angle),
        s = Math.sin(angle);
      const u0 = c * x0 + s * y0,
        u1 = c * x1 + s * y1,
        u2 = c * x2 + s * y2;
      y0 = c * y0 - s * x0;
      y1 = c * y1 - s * x1;
      y2 = c * y2 - s * x2;
      x0 = u0;
      x1 = u1;
      x2 = u2;
      frames[to] = x0;
      frames[to + 1] = y0;
      frames[to + 2] = z0;
      frames[to + 3] = p0;
      frames[to + 4] = x1;
      frames[to + 5] = y1;
      frames[to + 6] = z1;
      frames[to + 7] = p1;
      frames[to + 8] = x2;
      frames[to + 9] = y2;
      frames[to + 10] = z2;
      frames[to + 11] = p2;
    }
  }

  place(i: number): void {
    const { placed, stamp } = this;
    if (placed[i] === stamp || placed[i] === -1) return;
    placed[i] = stamp;
    const { bodies, depth, local } = this.scene;
    multiply(this.frames, 12 * (depth[i]! - 1), local, 12 * i, this.poses, 12 * i);
    fitBox(bodies[i]!, this.poses, 12 * i, this.boxes, 6 * i);
  }

  placeAll(): void {
    for (let i = 0; i < this.placed.length; i++) this.place(i);
  }

  /** Twists of all frames when the joints move at `rates`. */
  twist(rates: Float64Array): void {
    const { frames, twists } = this;
    const { prismatic, n } = this.scene.arm;
    for (let k = 0, f = 0, w = 0; k < n; k++, f += 12, w += 6) {
      const rate = rates[k]!;
      const x = rate * frames[f + 2]!,
        y = rate * frames[f + 6]!,
        z = rate * frames[f + 10]!;
      if (prismatic[k] === 0) {
        const px = frames[f + 3]!,
          py = frames[f + 7]!,
          pz = frames[f + 11]!;
        twists[w + 6] = twists[w]! + x;
        twists[w + 7] = twists[w + 1]! + y;
        twists[w + 8] = twists[w + 2]! + z;
        twists[w + 9] = twists[w + 3]! + py * z - pz * y;
        twists[w + 10] = twists[w + 4]! + pz * x - px * z;
        twists[w + 11] = twists[w + 5]! + px * y - py * x;
      } else {
        twists[w + 6] = twists[w]!;
        twists[w + 7] = twists[w + 1]!;
        twists[w + 8] = twists[w + 2]!;
        twists[w + 9] = twists[w + 3]! + x;
        twists[w + 10] = twists[w + 4]! + y;
        twists[w + 11] = twists[w + 5]! + z;
      }
    }
  }

  /**
   * Greatest rates at which body `b` (moved by `high` joints) comes nearer along the normal of `apart`, seen from what `low`
   * joints move; with `anyWay` the greatest speed of its points.
   */
  approach(low: number, high: number, b: number, anyWay: boolean, apart: Float64Array): void {
    const { twists, boxes, poses } = this;
    const i = 6 * low,
      j = 6 * high,
      c = 6 * b,
      p = 12 * b;
    const wx = twists[j]! - twists[i]!,
      wy = twists[j + 1]! - twists[i + 1]!,
      wz = twists[j + 2]! - twists[i + 2]!;
    const cx = boxes[c]!,
      cy = boxes[c + 1]!,
      cz = boxes[c + 2]!;
    const vx = twists[j + 3]! - twists[i + 3]! + wy * cz - wz * cy,
      vy = twists[j + 4]! - twists[i + 4]! + wz * cx - wx * cz,
      vz = twists[j + 5]! - twists[i + 5]! + wx * cy - wy * cx;
    if (anyWay) {
      this.minus = this.plus =
        Math.sqrt(vx * vx + vy * vy + vz * vz) + Math.sqrt(wx * wx + wy * wy + wz * wz) * this.cores[b]!;
      return;
    }
    const nx = apart[7]!,
      ny = apart[8]!,
      nz = apart[9]!;
    const speed = nx * vx + ny * vy + nz * vz;
    // n·(ω × r) = (n × ω)·r
    const ux = ny * wz - nz * wy,
      uy = nz * wx - nx * wz,
      uz = nx * wy - ny * wx;
    const body = this.scene.bodies[b]!;
    let spread = Math.abs(ux * poses[p + 2]! + uy * poses[p + 6]! + uz * poses[p + 10]!) * body.ez;
    if (body.kind >= BOX)
      spread +=
        Math.abs(ux * poses[p]! + uy * poses[p + 4]! + uz * poses[p + 8]!) * body.ex +
        Math.abs(ux * poses[p + 1]! + uy * poses[p + 5]! + uz * poses[p + 9]!) * body.ey;
    const back = spread + speed,
      on = spread - speed;
    this.minus = Math.max(back, 0);
    this.plus = Math.max(on, 0);
  }
}

/** Box along the common axes around a placed body with its radius; a little wider than it by rounding. */
function fitBox(body: Body, p: Float64Array, ip: number, boxes: Float64Array, at: number): void {
  const { kind, radius, cx, cy, cz, ex, ey, ez } = body;
  for (let r = 0; r < 3; r++) {
    const x = p[ip + 4 * r]!,
      y = p[ip + 4 * r + 1]!,
      z = p[ip + 4 * r + 2]!;
    const middle = x * cx + y * cy + z * cz + p[ip + 4 * r + 3]!;
    const across =
      kind === CYLINDER ? body.hx * Math.sqrt(x * x + y * y) : kind < BOX ? 0 : Math.abs(x) * ex + Math.abs(y) * ey;
    boxes[at + r] = middle;
    boxes[at + 3 + r] = (across + Math.abs(z) * ez + radius) * (1 + 1e-15) + Math.abs(middle) * 1e-15;
  }
}
