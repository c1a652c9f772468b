/** Polygons and lines on a grid of tenths of a pixel as path data: neighbours are joined, so that less is written and no seam shows. */

type Tenths = readonly [x: number, y: number];

const keyOf = ([x, y]: Tenths) => `${x},${y}`;

/** Outlines of what polygons of one sense of turning cover together (for the nonzero rule): sides run both ways cancel. */
export function joinedAreas(polygons: readonly (readonly Tenths[])[]): string {
  const ways = new Map<string, Tenths[]>();
  for (const polygon of polygons)
    for (const [i, from] of polygon.entries()) {
      const to = polygon[(i + 1) % polygon.length]!;
      if (from[0] === to[0] && from[1] === to[1]) continue;
      const back = ways.get(keyOf(to));
      const opposite = back?.findIndex((end) => end[0] === from[0] && end[1] === from[1]) ?? -1;
      if (opposite >= 0) {
        back!.splice(opposite, 1);
        continue;
      }
      const on = ways.get(keyOf(from));
      if (on === undefined) ways.set(keyOf(from), [to]);
      else on.push(to);
    }
  let text = "";
  for (const polygon of polygons)
    for (const start of polygon)
      while ((ways.get(keyOf(start))?.length ?? 0) > 0) {
        const loop: Tenths[] = [];
        let at = start;
        do {
          loop.push(at);
          const next = ways.get(keyOf(at))?.pop();
          if (next === undefined) break;
          at = next;
        } while (at[0] !== start[0] || at[1] !== start[1]);
        text += pathOf(withoutStraight(loop, true), true);
      }
  return text;
}

/** Lines as polylines that go on where another one ends; a line given twice is drawn once. */
export function joinedLines(lines: readonly (readonly [Tenths, Tenths])[]): string {
  const ends = new Map<string, Map<string, Tenths>>();
  const link = (a: Tenths, b: Tenths) => {
    const key = keyOf(a);
    if (!ends.has(key)) ends.set(key, new Map());
    ends.get(key)!.set(keyOf(b), b);
  };
  for (const [a, b] of lines) {
    if (a[0] === b[0] && a[1] === b[1]) continue;
    link(a, b);
    link(b, a);
  }
  const take = (a: Tenths): Tenths | undefined => {
    const next = ends.get(keyOf(a))?.values().next().value;
    if (next === undefined) return undefined;
    ends.get(keyOf(a))!.delete(keyOf(next));
    ends.get(keyOf(next))!.delete(keyOf(a));
    return next;
  };
  let text = "";
  // From the ends of open lines first, then around closed ones.
  for (const odd of [true, false])
    for (const line of lines)
      for (const start of line) {
        if (odd && (ends.get(keyOf(start))?.size ?? 0) % 2 === 0) continue;
        for (let next = take(start); next !== undefined; next = take(start)) {
          const chain = [start];
          for (let at: Tenths | undefined = next; at !== undefined; at = take(at)) chain.push(at);
          text += pathOf(withoutStraight(chain, false), false);
        }
      }
  return text;
}

/** Without the corners at which a line goes straight on. */
function withoutStraight(points: readonly Tenths[], closed: boolean): Tenths[] {
  const n = points.length;
  return points.filter((p, i) => {
    if (!closed && (i === 0 || i === n - 1)) return true;
    const a = points[(i + n - 1) % n]!,
      b = points[(i + 1) % n]!;
    const along = (p[0] - a[0]) * (b[0] - p[0]) + (p[1] - a[1]) * (b[1] - p[1]);
    return (p[0] - a[0]) * (b[1] - p[1]) !== (p[1] - a[1]) * (b[0] - p[0]) || along < 0;
  });
}

function pathOf(points: readonly Tenths[], closed: boolean): string {
  if (points.length < (closed ? 3 : 2)) return "";
  const join = (x: number, y: number) => (y < 0 ? `${x}${y}` : `${x} ${y}`);
  let text = `M${join(...points[0]!)}l`;
  for (let i = 1; i < points.length; i++) {
    const step = join(points[i]![0] - points[i - 1]![0], points[i]![1] - points[i - 1]![1]);
    text += i === 1 || step.startsWith("-") ? step : ` ${step}`;
  }
  return closed ? `${text}z` : text;
}
