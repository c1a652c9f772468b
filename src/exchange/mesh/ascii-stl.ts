/**
 * ASCII STL: solid … facet normal x y z, outer loop, vertex x y z three times, endloop, endfacet … endsolid …; keywords in either
 * case, several solids in a file. Works on the bytes, since a large file is longer than a string may be.
 */
import type { MeshData } from "../../clearance/index.ts";
import { MeshBuilder } from "./mesh-builder.ts";

export type AsciiStl =
  | { readonly ok: true; readonly mesh: MeshData }
  | {
      readonly ok: false;
      readonly code: "mesh-truncated" | "mesh-syntax" | "mesh-not-finite" | "mesh-too-large";
      readonly line: number;
      readonly found: string;
      readonly expected: string;
      readonly mend: string;
    };

export function readAsciiStl(bytes: Uint8Array, most: number): AsciiStl {
  const words = new Words(bytes);
  const mesh = new MeshBuilder();
  try {
    words.expect("solid", "solid and a name, then facets");
    words.skipLine();
    for (;;) {
      const word = words.next("facet or endsolid");
      if (word === "endsolid") {
        words.skipLine();
        if (words.atEnd()) return { ok: true, mesh: mesh.finish() };
        words.expect("solid", "solid or the end of the file");
        words.skipLine();
      } else if (word === "facet") {
        if (mesh.triangles === most) words.stop("mesh-too-large", `more than ${most} facets`, "", "");
        readFacet(words, mesh);
      } else words.unexpected("facet or endsolid");
    }
  } catch (stop) {
    if (!(stop instanceof Stop)) throw stop;
    return { ok: false, ...stop.problem };
  }
}

function readFacet(words: Words, mesh: MeshBuilder): void {
  words.expect("normal", "normal and three numbers");
  // The normal follows from the corners; some exporters write nan here.
  for (let k = 0; k < 3; k++) words.next("three numbers of the normal");
  words.expect("outer", "outer loop");
  words.expect("loop", "outer loop");
  for (let corner = 0; corner < 3; corner++) {
    words.expect("vertex", "three corners: vertex and three numbers");
    mesh.corner(words.number(), words.number(), words.number());
  }
  words.expect("endloop", "endloop after three corners");
  words.expect("endfacet", "endfacet");
}

type Problem = Omit<Extract<AsciiStl, { ok: false }>, "ok">;

class Stop {
  constructor(readonly problem: Problem) {}
}

/** Powers of ten that are exact in double precision. */
const TENS = Array.from({ length: 23 }, (_, i) => 10 ** i);

class Words {
  readonly #bytes: Uint8Array;
  /** Begin and end of the word last read. */
  #from = 0;
  #at: number;
  #line = 1;

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes;
    this.#at = bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf ? 3 : 0;
  }

  stop(code: Problem["code"], found: string, expected: string, mend: string): never {
    throw new Stop({ code, line: this.#line, found, expected, mend });
  }

  atEnd(): boolean {
    const bytes = this.#bytes;
    for (; this.#at < bytes.length && isSpace(bytes[this.#at]!); this.#at++) if (bytes[this.#at] === 10) this.#line++;
    return this.#at >= bytes.length;
  }

  skipLine(): void {
    while (this.#at < this.#bytes.length && this.#bytes[this.#at] !== 10) this.#at++;
  }

  #step(expected: string): void {
    if (this.atEnd())
      this.stop("mesh-truncated", "the end of the file", expected, "The file was cut off: copy or export it again.");
    const bytes = this.#bytes;
    this.#from = this.#at;
    while (this.#at < bytes.length && !isSpace(bytes[this.#at]!)) this.#at++;
  }

  /** The next word in lower case. */
  next(expected: string): string {
    this.#step(expected);
    return this.#text().toLowerCase();
  }

  #text(): string {
    const end = Math.min(this.#at, this.#from + 40);
    return String.fromCharCode(...this.#bytes.subarray(this.#from, end));
  }

  expect(word: string, expected: string): void {
    this.#step(expected);
    const length = this.#at - this.#from;
    let fits = length === word.length;
    for (let i = 0; fits && i < length; i++) fits = (this.#bytes[this.#from + i]! | 32) === word.charCodeAt(i);
    if (!fits) this.unexpected(expected);
  }

  unexpected(expected: string): never {
    return this.stop(
      "mesh-syntax",
      JSON.stringify(this.#text()),
      expected,
      "Export it again, best as binary STL; lines must not be edited by hand.",
    );
  }

  number(): number {
    this.#step("a coordinate");
    const plain = this.#plain();
    if (plain !== undefined) return plain;
    const text = this.#whole();
    const isDecimal = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text);
    const value = isDecimal ? Number(text) : Number.NaN;
    if (Number.isFinite(value)) return value;
    if (isDecimal || /^[+-]?(nan|inf|infinity)\b/i.test(text))
      this.stop(
        "mesh-not-finite",
        JSON.stringify(this.#text()),
        "a finite coordinate",
        "Export it again; the drawing may have a broken face there.",
      );
    return this.unexpected("a coordinate, a number with a decimal point");
  }

  #whole = () => String.fromCharCode(...this.#bytes.subarray(this.#from, Math.min(this.#at, this.#from + 400)));

  /**
   * A number of at most 15 digits and a power of ten up to 22: digits and power are exact, so that one rounding gives the nearest
   * double (Clinger, How to read floating point numbers accurately, 1990). Undefined for any other.
   */
  #plain(): number | undefined {
    const bytes = this.#bytes;
    let i = this.#from;
    const negative = bytes[i] === 45;
    if (negative || bytes[i] === 43) i++;
    let digits = 0,
      count = 0,
      seen = 0,
      scale = 0,
      point = false;
    for (; i < this.#at; i++) {
      const byte = bytes[i]!;
      if (byte === 46 && !point) point = true;
      else if (byte >= 48 && byte <= 57) {
        seen++;
        if (count > 0 || byte !== 48) count++;
        if (count > 15) return undefined;
        digits = digits * 10 + byte - 48;
        if (point) scale--;
      } else break;
    }
    if (seen === 0) return undefined;
    if (i < this.#at) {
      if ((bytes[i++]! | 32) !== 101) return undefined;
      const down = bytes[i] === 45;
      if (down || bytes[i] === 43) i++;
      if (i === this.#at || this.#at - i > 3) return undefined;
      let power = 0;
      for (; i < this.#at; i++) {
        const byte = bytes[i]!;
        if (byte < 48 || byte > 57) return undefined;
        power = power * 10 + byte - 48;
      }
      scale += down ? -power : power;
    }
    if (scale < -22 || scale > 22) return digits === 0 ? 0 : undefined;
    const value = scale < 0 ? digits / TENS[-scale]! : digits * TENS[scale]!;
    return negative ? -value : value;
  }
}

const isSpace = (byte: number) => byte === 32 || (byte >= 9 && byte <= 13);
