/**
 * Arrays that searches work in, shared by all of them so that a scene of a few bodies is cheap to make; they grow to the
 * largest scene. Only one search runs at a time, and each begins by emptying the stack.
 */
import { MAX_JOINTS } from "../../arm/build.ts";
import { newDistance } from "../distance.ts";

/** Numbers per node: middle and half width of time and of two shares; the largest way of its pairs by each of them. */
export const NODE = 9;

class WorkSpace {
  /** Joint values in the middle of a node and how far each may be from them; longer than most arms need. */
  readonly q = Array.from({ length: MAX_JOINTS + 1 }, (_, n) => new Float64Array(n));
  readonly spread = this.q.map((q) => q.slice());
  readonly trial = newDistance();
  /** Two nodes in the making, side by side: the numbers of each, the least bound of each, their pairs and bounds. */
  readonly made = new Float64Array(2 * NODE);
  readonly madeLeast = new Float64Array(2);
  madePairs = new Int32Array(0);
  madeBounds = new Float64Array(0);
  /** Pairs of the node that is taken apart, with their bounds; squared gaps of their boxes. */
  parentPairs = new Int32Array(0);
  parentBounds = new Float64Array(0);
  gaps = new Float64Array(0);
  /** Stack of open nodes and their lists of pairs. */
  nodes = new Float64Array(64 * NODE);
  nodeGroup = new Int32Array(64);
  listStart = new Int32Array(64);
  listCount = new Int32Array(64);
  top = 0;
  listPairs = new Int32Array(1024);
  listBounds = new Float64Array(1024);
  listTop = 0;
  /** Pairs that the arrays of nodes in the making have room for; the second node's begin there. */
  room = 0;

  /** Empties the stack and makes room for so many pairs. */
  begin(pairs: number): void {
    this.top = this.listTop = 0;
    if (pairs <= this.room) return;
    this.room = 2 * pairs;
    this.madePairs = new Int32Array(2 * this.room);
    this.madeBounds = new Float64Array(2 * this.room);
    this.parentPairs = new Int32Array(this.room);
    this.parentBounds = new Float64Array(this.room);
    this.gaps = new Float64Array(this.room);
  }

  setMade(side: number, t: number, ht: number, u: number, hu: number, v: number, hv: number): void {
    const { made } = this,
      at = side * NODE;
    made[at] = t;
    made[at + 1] = ht;
    made[at + 2] = u;
    made[at + 3] = hu;
    made[at + 4] = v;
    made[at + 5] = hv;
  }

  /** Puts the node made on a side, with its `count` pairs, on the stack. */
  push(group: number, side: number, count: number): void {
    if (count === 0) return;
    if (this.top === this.nodeGroup.length) {
      this.nodes = widened(this.nodes, 2 * this.nodes.length);
      this.nodeGroup = widened(this.nodeGroup, 2 * this.top);
      this.listStart = widened(this.listStart, 2 * this.top);
      this.listCount = widened(this.listCount, 2 * this.top);
    }
    const least = this.listTop + count;
    if (least > this.listPairs.length) {
      this.listPairs = widened(this.listPairs, 2 * least);
      this.listBounds = widened(this.listBounds, 2 * least);
    }
    const node = this.top++;
    const { nodes, made, listPairs, listBounds, madePairs, madeBounds } = this;
    for (let i = 0; i < NODE; i++) nodes[node * NODE + i] = made[side * NODE + i]!;
    this.nodeGroup[node] = group;
    this.listStart[node] = this.listTop;
    this.listCount[node] = count;
    const from = side * this.room;
    for (let i = 0; i < count; i++) {
      listPairs[this.listTop + i] = madePairs[from + i]!;
      listBounds[this.listTop + i] = madeBounds[from + i]!;
    }
    this.listTop += count;
  }
}

function widened<T extends Float64Array | Int32Array>(old: T, length: number): T {
  const out = new (old.constructor as new (length: number) => T)(length);
  out.set(old);
  return out;
}

export const work = new WorkSpace();
