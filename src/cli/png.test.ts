import { inflateSync } from "node:zlib";
import { describe, expect, it } from "vitest";
import { pngOf } from "./png.ts";

/** Width, height and the bytes of each row of an 8-bit RGBA PNG (W3C PNG specification), filters undone. */
function decode(png: Uint8Array): { width: number; height: number; at(x: number, y: number): number[] } {
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength);
  const data: Uint8Array[] = [];
  let width = 0,
    height = 0;
  for (let at = 8; at < png.length; ) {
    const size = view.getUint32(at);
    const kind = String.fromCharCode(...png.subarray(at + 4, at + 8));
    if (kind === "IHDR") {
      width = view.getUint32(at + 8);
      height = view.getUint32(at + 12);
      expect([...png.subarray(at + 16, at + 18)]).toEqual([8, 6]);
    }
    if (kind === "IDAT") data.push(png.subarray(at + 8, at + 8 + size));
    at += 12 + size;
  }
  const raw = inflateSync(Buffer.concat(data));
  const row = 4 * width;
  const out = new Uint8Array(row * height);
  for (let y = 0; y < height; y++) {
    const filter = raw[y * (row + 1)]!;
    for (let i = 0; i < row; i++) {
      const a = i < 4 ? 0 : out[y * row + i - 4]!,
        b = y === 0 ? 0 : out[(y - 1) * row + i]!,
        c = i < 4 || y === 0 ? 0 : out[(y - 1) * row + i - 4]!;
      const p = a + b - c;
      const near = [a, b, c].reduce((m, v) => (Math.abs(p - v) < Math.abs(p - m) ? v : m), a);
      const guess = [0, a, b, (a + b) >> 1, near][filter]!;
      out[y * row + i] = raw[y * (row + 1) + 1 + i]! + guess;
    }
  }
  return { width, height, at: (x, y) => [...out.subarray(y * row + 4 * x, y * row + 4 * x + 4)] };
}

const svg = (content: string) =>
  `<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20" viewBox="0 0 40 20"><rect width="40" height="20" fill="#ffffff"/>${content}</svg>`;

describe("a picture as PNG", () => {
  it("has the size and the colours of the document", async () => {
    const png = decode(await pngOf(svg('<rect x="10" width="10" height="20" fill="#b2381b"/>'), 2));
    expect([png.width, png.height]).toEqual([80, 40]);
    expect(png.at(30, 20)).toEqual([0xb2, 0x38, 0x1b, 255]);
    expect(png.at(50, 20)).toEqual([255, 255, 255, 255]);
  });

  it("writes letters with faces of its own, beyond those of English too", async () => {
    const inked = async (word: string) => {
      const { width, height, at } = decode(
        await pngOf(svg(`<text x="2" y="15" font-family="Nowhere,sans-serif" font-size="12">${word}</text>`), 1),
      );
      let count = 0;
      for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) if (at(x, y)[0]! < 128) count++;
      return count;
    };
    expect(await inked("mm")).toBeGreaterThan(20);
    expect(await inked("Ωčł")).toBeGreaterThan(20);
    expect(await inked("Ωčł")).not.toBe(await inked("mm"));
  });

  it("is the same file each time", async () => {
    const text = svg('<text x="2" y="15" font-size="12">6.2 mm</text>');
    expect(Buffer.from(await pngOf(text)).equals(Buffer.from(await pngOf(text)))).toBe(true);
  });
});
