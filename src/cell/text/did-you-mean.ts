/** The likely meaning of a mistyped word. */

const LONGEST = 64;

/**
 * The candidate nearest to `word` by edit distance (insert, delete, replace, swap neighbours), if near enough: at most a
 * third of its letters, at least one. Case and the separators space, `-`, `_` and camelCase do not count. Ties go to the first.
 */
export function nearest(word: string, candidates: Iterable<string>): string | undefined {
  if (word.length > LONGEST || word.trim() === "") return undefined;
  const wanted = flatten(word);
  let best: string | undefined;
  let bestDistance = Number.POSITIVE_INFINITY;
  for (const candidate of candidates) {
    if (candidate.length > LONGEST) continue;
    const other = flatten(candidate);
    const reach = Math.max(1, Math.floor(Math.max(wanted.length, other.length) / 3));
    if (Math.abs(wanted.length - other.length) > reach) continue;
    const distance = editDistance(wanted, other);
    if (distance <= reach && distance < bestDistance) {
      best = candidate;
      bestDistance = distance;
    }
  }
  return best;
}

/** " Did you mean x?" or "". */
export function didYouMean(word: string, candidates: Iterable<string>): string {
  const near = nearest(word, candidates);
  return near === undefined ? "" : `Did you mean ${near}?`;
}

/** Optimal string alignment distance. @example editDistance("chukc", "chuck") // 1 */
export function editDistance(a: string, b: string): number {
  let before: number[] = [];
  let row = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const cost = a[i - 1] === b[j - 1] ? 0 : 1;
      let least = Math.min(row[j]! + 1, next[j - 1]! + 1, row[j - 1]! + cost);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) least = Math.min(least, before[j - 2]! + 1);
      next.push(least);
    }
    before = row;
    row = next;
  }
  return row[b.length]!;
}

function flatten(word: string): string {
  return word
    .replace(/([a-z])([A-Z])/g, "$1 $2")
    .replace(/[-_\s]+/g, " ")
    .trim()
    .toLowerCase();
}
