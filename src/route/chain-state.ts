/** The arm at one state: chain frames, bodies placed when asked for, and how fast the bodies move along an edge. */
import { walkChain } from "../arm/forward.ts";
import { BOX } from "../clearance/body.ts";
import { fitBox } from "../clearance/body-set.ts";
import { multiply } from "../clearance/frames.ts";
import { identityPose } from "../math/pose.ts";
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
  private readonly flange = identityPose();
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
    this.stamp = (this.stamp + 1) & 0x3fffffff;
    walkChain(this.scene.arm, q, this.flange, undefined, this.frames);
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
