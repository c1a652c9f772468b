/** A tree of states grown from one end of a route. All numbers in arrays that are kept from query to query. */
export class Tree {
  size = 0;
  private readonly n: number;
  private readonly weights: Float64Array;
  private states: Float64Array;
  private parents: Int32Array;

  constructor(n: number, weights: Float64Array) {
    this.n = n;
    this.weights = weights;
    this.states = new Float64Array(n * 256);
    this.parents = new Int32Array(256);
  }

  clear(): void {
    this.size = 0;
  }

  /** @returns the index of the new state */
  add(q: ArrayLike<number>, parent: number): number {
    const { n, size } = this;
    if (size === this.parents.length) {
      const states = new Float64Array(2 * this.states.length);
      states.set(this.states);
      this.states = states;
      const parents = new Int32Array(2 * size);
      parents.set(this.parents);
      this.parents = parents;
    }
    for (let i = 0; i < n; i++) this.states[n * size + i] = q[i]!;
    this.parents[size] = parent;
    return this.size++;
  }

  nearest(q: ArrayLike<number>): number {
    const { n, states, weights, size } = this;
    let best = Number.POSITIVE_INFINITY,
      index = 0;
    for (let k = 0, at = 0; k < size; k++, at += n) {
      let sum = 0;
      for (let i = 0; i < n; i++) {
        const d = weights[i]! * (states[at + i]! - q[i]!);
        sum += d * d;
      }
      if (sum < best) {
        best = sum;
        index = k;
      }
    }
    return index;
  }

  read(index: number, out: Float64Array): Float64Array {
    const { n, states } = this;
    for (let i = 0; i < n; i++) out[i] = states[n * index + i]!;
    return out;
  }

  /** States from `index` back to the root, root last. */
  branch(index: number): Float64Array[] {
    const out: Float64Array[] = [];
    for (let k = index; k >= 0; k = this.parents[k]!) out.push(this.read(k, new Float64Array(this.n)));
    return out;
  }
}
