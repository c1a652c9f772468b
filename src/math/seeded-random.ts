/** Reproducible random numbers (mulberry32) for searches: the same seed, the same numbers. */
export class SeededRandom {
  private state = new Int32Array(1);

  constructor(seed: number) {
    this.restart(seed);
  }

  restart(seed: number): void {
    this.state[0] = seed | 0;
  }

  /** Next number in [0, 1). */
  next(): number {
    this.state[0] = (this.state[0]! + 0x6d2b79f5) | 0;
    const a = this.state[0]!;
    let t = Math.imul(a ^ (a >>> 15), a | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  }
}
