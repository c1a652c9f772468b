/** Which parts of a picture are taken: a grid of cells filled nearest first, so that what is wholly hidden need not be drawn. */

/** Cells per px along each axis. */
const FINE = 2;

/** What is seen of a body. */
export interface Seen {
  readonly area: number;
  readonly x: number;
  readonly y: number;
}

export class Cover {
  readonly width: number;
  readonly height: number;
  /** Body seen in each cell, -1 for none, row by row from the top. */
  readonly cells: Int32Array;
  private found: ReadonlyMap<number, Seen> | undefined;

  constructor(width: number, height: number) {
    this.width = Math.ceil(width * FINE);
    this.height = Math.ceil(height * FINE);
    this.cells = new Int32Array(this.width * this.height).fill(-1);
  }

  /**
   * Takes the cells of a convex polygon that are free. @param points x, y of each corner, px
   * @param body index; undefined to look only
   * @returns whether any was free, or whether the polygon is too thin to hold the middle of a cell
   */
  take(points: readonly number[], body: number | undefined): boolean {
    let top = Infinity,
      bottom = -Infinity;
    for (let i = 1; i < points.length; i += 2) {
      if (points[i]! < top) top = points[i]!;
      if (points[i]! > bottom) bottom = points[i]!;
    }
    const from = Math.max(0, Math.ceil(top * FINE - 0.5)),
      to = Math.min(this.height - 1, Math.floor(bottom * FINE - 0.5));
    let any = false,
      free = false;
    for (let row = from; row <= to; row++) {
      const y = (row + 0.5) / FINE;
      let left = Infinity,
        right = -Infinity;
      for (let i = 0; i < points.length; i += 2) {
        const j = (i + 2) % points.length;
        const y0 = points[i + 1]!,
          y1 = points[j + 1]!;
        if (y0 > y === y1 > y) continue;
        const x = points[i]! + ((y - y0) / (y1 - y0)) * (points[j]! - points[i]!);
        if (x < left) left = x;
        if (x > right) right = x;
      }
      const first = Math.max(0, Math.ceil(left * FINE - 0.5)),
        last = Math.min(this.width - 1, Math.floor(right * FINE - 0.5));
      for (let cell = row * this.width + first; cell <= row * this.width + last; cell++) {
        any = true;
        if (this.cells[cell]! >= 0) continue;
        free = true;
        if (body === undefined) return true;
        this.cells[cell] = body;
      }
    }
    return free || !any;
  }

  /** Body seen at a point, px; -1 for none or outside. */
  at(x: number, y: number): number {
    const column = Math.floor(x * FINE),
      row = Math.floor(y * FINE);
    if (column < 0 || row < 0 || column >= this.width || row >= this.height) return -1;
    return this.cells[row * this.width + column]!;
  }

  /** Share of a rectangle around (x, y) that is taken, from a few points in it. */
  taken(x: number, y: number, halfWidth: number, halfHeight: number): number {
    let count = 0;
    for (let i = -2; i <= 2; i++)
      for (let j = -1; j <= 1; j++) if (this.at(x + (i / 2) * halfWidth, y + j * halfHeight) >= 0) count++;
    return count / 15;
  }

  /** For each body its area, px², and the cell of it nearest to the middle of all its cells, px. To be asked when all is painted. */
  seen(): ReadonlyMap<number, Seen> {
    this.found ??= this.look();
    return this.found;
  }

  private look(): Map<number, Seen> {
    const { cells, width, height } = this;
    let most = -1;
    for (let cell = 0; cell < cells.length; cell++) if (cells[cell]! > most) most = cells[cell]!;
    const count = new Float64Array(most + 1),
      sumX = new Float64Array(most + 1),
      sumY = new Float64Array(most + 1);
    for (let row = 0, cell = 0; row < height; row++)
      for (let column = 0; column < width; column++, cell++) {
        const body = cells[cell]!;
        if (body < 0) continue;
        count[body]!++;
        sumX[body]! += column;
        sumY[body]! += row;
      }
    const least = new Float64Array(most + 1).fill(Infinity);
    const nearest = new Int32Array(most + 1);
    for (let row = 0, cell = 0; row < height; row++)
      for (let column = 0; column < width; column++, cell++) {
        const body = cells[cell]!;
        if (body < 0) continue;
        const x = column - sumX[body]! / count[body]!,
          y = row - sumY[body]! / count[body]!;
        const off = x * x + y * y;
        if (off >= least[body]!) continue;
        least[body] = off;
        nearest[body] = cell;
      }
    const found = new Map<number, Seen>();
    for (let body = 0; body <= most; body++) {
      if (count[body] === 0) continue;
      const x = (nearest[body]! % width) + 0.5,
        y = Math.floor(nearest[body]! / width) + 0.5;
      found.set(body, { area: count[body]! / FINE ** 2, x: x / FINE, y: y / FINE });
    }
    return found;
  }
}
