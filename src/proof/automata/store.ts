/** Compact memory of an exploration: growing typed arrays under one limit, discrete states in a hash table. */
import type { Range } from "./node.ts";

/** The memory limit of an exploration is reached. */
export class MemoryLimit extends Error {
  override readonly name = "MemoryLimit";
}

/** Bytes in use, all arrays of an exploration together. */
export class Budget {
  readonly limit: number;
  used = 0;

  constructor(limit: number) {
    this.limit = limit;
  }

  /** An array, counted. @throws MemoryLimit */
  array(length: number): Int32Array {
    if (this.used + 4 * length > this.limit) throw new MemoryLimit("the memory limit is reached");
    try {
      const made = new Int32Array(length);
      this.used += 4 * length;
      return made;
    } catch (error) {
      if (error instanceof RangeError) throw new MemoryLimit("the memory limit is reached");
      throw error;
    }
  }

  /** Counts memory that is held elsewhere. @throws MemoryLimit */
  take(bytes: number): void {
    if (this.used + bytes > this.limit) throw new MemoryLimit("the memory limit is reached");
    this.used += bytes;
  }

  release(array: Int32Array): void {
    this.used -= array.byteLength;
  }
}

/** Integers in a row, growing. `data` is replaced when it grows. */
export class Row {
  data: Int32Array;
  length = 0;
  readonly #budget: Budget;

  constructor(budget: Budget, capacity = 1024) {
    this.#budget = budget;
    this.data = budget.array(capacity);
  }

  /** Makes room for `count` more. @throws MemoryLimit */
  reserve(count: number): void {
    const needed = this.length + count;
    const old = this.data;
    if (needed <= old.length) return;
    // Doubled; near the limit only as far as needed.
    let grown: Int32Array;
    try {
      grown = this.#budget.array(Math.max(needed, 2 * old.length));
    } catch (error) {
      if (!(error instanceof MemoryLimit)) throw error;
      grown = this.#budget.array(Math.max(needed, old.length + (old.length >> 3)));
    }
    grown.set(old);
    this.data = grown;
    this.#budget.release(old);
  }

  push(value: number): number {
    if (this.length === this.data.length) this.reserve(1);
    this.data[this.length] = value;
    return this.length++;
  }
}

/** Discrete states packed into bits, each once, numbered in the order in which they came. */
export class StateTable {
  readonly words: number;
  readonly #word: Int32Array;
  readonly #shift: Int32Array;
  readonly #mask: Int32Array;
  readonly #min: Int32Array;
  readonly #fields: number;
  readonly #states: Row;
  readonly #budget: Budget;
  /** Number + 1 of a state by hash; 0 for none. */
  #slots: Int32Array;
  readonly #packed: Int32Array;
  count = 0;

  constructor(fields: readonly Range[], budget: Budget) {
    const n = fields.length;
    this.#fields = n;
    this.#word = new Int32Array(n);
    this.#shift = new Int32Array(n);
    this.#mask = new Int32Array(n);
    this.#min = new Int32Array(n);
    let word = 0;
    let used = 0;
    for (const [f, { min, max }] of fields.entries()) {
      const bits = max === min ? 0 : 32 - Math.clz32(max - min);
      if (used + bits > 32) {
        word++;
        used = 0;
      }
      this.#word[f] = word;
      this.#shift[f] = used & 31;
      this.#mask[f] = bits === 32 ? -1 : (1 << bits) - 1;
      this.#min[f] = min;
      used += bits;
    }
    this.words = word + 1;
    this.#budget = budget;
    this.#states = new Row(budget, 1024 * this.words);
    this.#slots = budget.array(4096);
    this.#packed = new Int32Array(this.words);
  }

  /** Number of a state, which is added when it is new: `count` grows then. @throws MemoryLimit */
  add(state: Int32Array): number {
    const packed = this.#packed;
    const { words } = this;
    for (let w = 0; w < words; w++) packed[w] = 0;
    for (let f = 0; f < this.#fields; f++) packed[this.#word[f]!]! |= (state[f]! - this.#min[f]!) << this.#shift[f]!;
    const hash = hashOf(packed, words);
    let mask = this.#slots.length - 1;
    let slot = hash & mask;
    const stored = this.#states.data;
    for (let number = this.#slots[slot]!; number !== 0; number = this.#slots[slot]!) {
      const at = (number - 1) * words;
      let w = 0;
      while (w < words && stored[at + w] === packed[w]) w++;
      if (w === words) return number - 1;
      slot = (slot + 1) & mask;
    }
    if (this.count * 5 > this.#slots.length * 3) {
      this.#grow();
      mask = this.#slots.length - 1;
      slot = hash & mask;
      while (this.#slots[slot] !== 0) slot = (slot + 1) & mask;
    }
    const states = this.#states;
    states.reserve(words);
    for (let w = 0; w < words; w++) states.data[states.length + w] = packed[w]!;
    states.length += words;
    this.count++;
    this.#slots[slot] = this.count;
    return this.count - 1;
  }

  /** Writes a state's fields. */
  read(number: number, into: Int32Array): void {
    const { data } = this.#states;
    const at = number * this.words;
    for (let f = 0; f < this.#fields; f++)
      into[f] = ((data[at + this.#word[f]!]! >>> this.#shift[f]!) & this.#mask[f]!) + this.#min[f]!;
  }

  #grow(): void {
    const old = this.#slots;
    const slots = this.#budget.array(2 * old.length);
    const mask = slots.length - 1;
    const { words } = this;
    const { data } = this.#states;
    const one = this.#packed.slice();
    for (let number = 0; number < this.count; number++) {
      for (let w = 0; w < words; w++) one[w] = data[number * words + w]!;
      let slot = hashOf(one, words) & mask;
      while (slots[slot] !== 0) slot = (slot + 1) & mask;
      slots[slot] = number + 1;
    }
    this.#slots = slots;
    this.#budget.release(old);
  }
}

/** Mixes words as MurmurHash3 does (A. Appleby, public domain). */
function hashOf(words: Int32Array, count: number): number {
  let hash = 0x9747b28c;
  for (let w = 0; w < count; w++) {
    let k = Math.imul(words[w]!, 0xcc9e2d51);
    k = (k << 15) | (k >>> 17);
    hash ^= Math.imul(k, 0x1b873593);
    hash = (hash << 13) | (hash >>> 19);
    hash = (Math.imul(hash, 5) + 0xe6546b64) | 0;
  }
  hash ^= hash >>> 16;
  hash = Math.imul(hash, 0x85ebca6b);
  hash ^= hash >>> 13;
  hash = Math.imul(hash, 0xc2b2ae35);
  return hash ^ (hash >>> 16);
}
