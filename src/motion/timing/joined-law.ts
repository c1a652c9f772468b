/** Laws of consecutive stretches of the path as one law. */
import { intervalOf } from "./interval-of.ts";
import type { PathState } from "./path-types.ts";

/** What every law of a path or a stretch of it offers. */
export interface Law {
  readonly duration: number;
  sample(time: number, out: PathState): void;
  timeAt(s: number): number;
}

export class JoinedLaw implements Law {
  readonly duration: number;
  private readonly laws: readonly Law[];
  /** Path parameter at which each law starts, and the end. */
  private readonly from: Float64Array;
  private readonly starts: Float64Array;

  constructor(laws: readonly Law[], from: readonly number[]) {
    this.laws = laws;
    this.from = Float64Array.from(from);
    this.starts = new Float64Array(laws.length + 1);
    for (let i = 0; i < laws.length; i++) this.starts[i + 1] = this.starts[i]! + laws[i]!.duration;
    this.duration = this.starts[laws.length]!;
  }

  sample(time: number, out: PathState): void {
    const k = intervalOf(this.starts, time, this.laws.length);
    this.laws[k]!.sample(time - this.starts[k]!, out);
  }

  timeAt(s: number): number {
    const k = intervalOf(this.from, s, this.laws.length);
    return this.starts[k]! + this.laws[k]!.timeAt(s);
  }
}
