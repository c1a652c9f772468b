/** Where words go on a picture: not on each other, and rather beside the bodies than on them. */
import type { Cover } from "./cover.ts";

interface Box {
  readonly x: number;
  readonly y: number;
  readonly halfWidth: number;
  readonly halfHeight: number;
}

export class LabelPlaces {
  private readonly taken: Box[] = [];
  private readonly width: number;
  private readonly height: number;
  private readonly cover: Cover;

  constructor(width: number, height: number, cover: Cover) {
    this.width = width;
    this.height = height;
    this.cover = cover;
  }

  /** Keeps a box, by its middle and size, free of what is placed later. */
  keep(x: number, y: number, width: number, height: number): void {
    this.taken.push({ x, y, halfWidth: width / 2, halfHeight: height / 2 });
  }

  isFree(x: number, y: number, width: number, height: number): boolean {
    const box = { x, y, halfWidth: width / 2, halfHeight: height / 2 };
    return this.inside(box) && !this.taken.some((other) => overlap(box, other));
  }

  /** A place for a box of a size near a point; it is kept. @param least least distance of its middle from the point, px */
  near(x: number, y: number, width: number, height: number, least: number): readonly [x: number, y: number] {
    let best: Box | undefined;
    let cheapest = Infinity;
    for (let ring = 0; ring < 7; ring++)
      for (let turn = 0; turn < 16; turn++) {
        // Upper right first: equal places are decided by the order.
        const angle = (turn / 16) * 2 * Math.PI - Math.PI / 4;
        const reach = least + 16 * ring;
        const box = {
          x: x + Math.cos(angle) * (reach + width / 2),
          y: y + Math.sin(angle) * (reach + height / 2),
          halfWidth: width / 2,
          halfHeight: height / 2,
        };
        if (!this.inside(box)) continue;
        const clashes = this.taken.filter((other) => overlap(box, other)).length;
        const cost = 10 * clashes + 1.5 * this.cover.taken(box.x, box.y, box.halfWidth, box.halfHeight) + 0.22 * ring;
        if (cost < cheapest) {
          cheapest = cost;
          best = box;
        }
      }
    const { x: px, y: py } = best ?? { x: clamp(x, width / 2, this.width), y: clamp(y, height / 2, this.height) };
    this.keep(px, py, width, height);
    return [px, py];
  }

  private inside({ x, y, halfWidth, halfHeight }: Box): boolean {
    return (
      x - halfWidth > 2 && x + halfWidth < this.width - 2 && y - halfHeight > 2 && y + halfHeight < this.height - 2
    );
  }
}

const clamp = (value: number, margin: number, size: number) => Math.min(size - margin - 2, Math.max(margin + 2, value));

const overlap = (a: Box, b: Box) =>
  Math.abs(a.x - b.x) < a.halfWidth + b.halfWidth + 3 && Math.abs(a.y - b.y) < a.halfHeight + b.halfHeight + 2;

/** Width of a text, px, for the size that pictures are written in; a little more than it is in common faces. */
export const textWidth = (text: string, size = 12.5): number => 0.6 * size * [...text].length;

/** A long name with its middle left out. */
export function shortened(text: string, most: number): string {
  const characters = [...text];
  if (characters.length <= most) return text;
  const head = Math.ceil((most - 1) / 2);
  return `${characters.slice(0, head).join("")}…${characters.slice(characters.length - (most - 1 - head)).join("")}`;
}
