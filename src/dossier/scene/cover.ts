/** Which parts of a picture are taken: a grid of cells filled nearest first, so that what is wholly hidden need not be drawn. */

/** Cells per px along each axis. */
const FINE = 2;

export class Cover {
  readonly width: number;
  readonly height: number;
  /** Body seen in each cell, -1 for none, row by row from the top. */
  readonly cells: Int16Array;

  constructor(width: number, height: number) {
    this.width = Math.ceil(width * FINE);
    this.height = Math.ceil(height * FINE);
    this.cells = new Int16Array(this.width * this.height).fill(-1);
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

  /** For each body its number of cells and, of those, the one nearest to their middle, px. */
  seen(): Map<number, { readonly area: number; readonly x: number; readonly y: number }> {
    const sums = new Map<number, { n: number; x: number; y: number }>();
    this.each((body, x, y) => {
      const sum = sums.get(body);
      if (sum === undefined) sums.set(body, { n: 1, x, y });
      else {
        sum.n++;
        sum.x += x;
        sum.y += y;
      }
    });
    const nearest = new Map<number, { off: number; x: number; y: number }>();
    this.each((body, x, y) => {
      const { n, x: sx, y: sy } = sums.get(body)!;
      const off = (x - sx / n) ** 2 + (y - sy / n) ** 2;
      const best = nearest.get(body);
      if (best === undefined || off < best.off) nearest.set(body, { off, x, y });
    });
    return new Map(
      [...nearest].map(([body, { x, y }]) => [body, { area: sums.get(body)!.n / FINE ** 2, x, y }] as const),
    );
  }

  private each(use: (body: number, x: number, y: number) => void): void {
    for (let row = 0, cell = 0; row < this.height; row++)
      for (let column = 0; column < this.width; column++, cell++) {
        const body = this.cells[cell]!;
        if (body >= 0) use(body, (column + 0.5) / FINE, (row + 0.5) / FINE);
      }
  }
}
