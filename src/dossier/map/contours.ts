/** Lines of equal value through a grid (marching squares). */

type Spot = readonly [x: number, y: number];

/**
 * The lines at one level, in grid units: point (i, j) holds values[j·nx + i]. A square with a corner without a value has no line.
 * Where two lines could cross in a square, its mean decides which corners they join.
 */
export function contourLines(values: ArrayLike<number>, nx: number, ny: number, level: number): Spot[][] {
  const value = (i: number, j: number) => values[j * nx + i]!;
  /** Each crossed grid side, by number: its place and the sides that lines lead to from there. */
  const spots = new Map<number, { readonly at: Spot; readonly to: number[] }>();
  const across = (i: number, j: number) => 2 * (j * nx + i);
  const up = (i: number, j: number) => across(i, j) + 1;
  const spot = (side: number) => {
    let found = spots.get(side);
    if (found === undefined) {
      const cell = side >> 1,
        i = cell % nx,
        j = Math.floor(cell / nx);
      const a = value(i, j),
        b = side % 2 === 0 ? value(i + 1, j) : value(i, j + 1);
      const share = (level - a) / (b - a);
      found = { at: side % 2 === 0 ? [i + share, j] : [i, j + share], to: [] };
      spots.set(side, found);
    }
    return found;
  };
  const join = (a: number, b: number) => {
    spot(a).to.push(b);
    spot(b).to.push(a);
  };
  for (let j = 0; j + 1 < ny; j++)
    for (let i = 0; i + 1 < nx; i++) {
      const corners = [value(i, j), value(i + 1, j), value(i + 1, j + 1), value(i, j + 1)];
      if (corners.some((v) => !Number.isFinite(v))) continue;
      const sides = [across(i, j), up(i + 1, j), across(i, j + 1), up(i, j)];
      const high = corners.map((v) => v >= level);
      const crossed = sides.filter((_, k) => high[k] !== high[(k + 1) % 4]);
      if (crossed.length === 2) join(crossed[0]!, crossed[1]!);
      if (crossed.length !== 4) continue;
      const mean = (corners[0]! + corners[1]! + corners[2]! + corners[3]!) / 4;
      // The middle goes with the corner i, j: lines cut off the two others.
      const withFirst = mean >= level === high[0];
      join(sides[0]!, sides[withFirst ? 1 : 3]!);
      join(sides[2]!, sides[withFirst ? 3 : 1]!);
    }

  const lines: Spot[][] = [];
  const follow = (start: number) => {
    const line = [spots.get(start)!.at];
    for (let at = start; ; ) {
      const next = spots.get(at)!.to.pop();
      if (next === undefined) break;
      const back = spots.get(next)!.to;
      back.splice(back.indexOf(at), 1);
      line.push(spots.get(next)!.at);
      at = next;
    }
    if (line.length > 1) lines.push(line);
  };
  for (const [side, { to }] of spots) if (to.length === 1) follow(side);
  for (const [side, { to }] of spots) if (to.length > 0) follow(side);
  return lines;
}

/** Round levels inside a range, about `count` of them. */
export function roundLevels(low: number, high: number, count: number): number[] {
  if (!(high > low)) return [];
  const step = roundStep((high - low) / count);
  const levels: number[] = [];
  for (let k = Math.floor(low / step) + 1; k * step < high; k++) levels.push(Number((k * step).toPrecision(12)));
  return levels;
}

/** The least of 1, 2, 5, 10, … times a power of ten that is not below `least`, > 0. */
export function roundStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  return ([1, 2, 5].find((k) => k * power >= least * (1 - 1e-9)) ?? 10) * power;
}
