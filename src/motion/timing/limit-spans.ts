/** What limits a motion at each moment. */
import type { PathLimitSpan, PathState } from "./path-types.ts";
import { limitName, type PathUse } from "./path-use.ts";

/** A limit counts as active from this share on: numerical laws run a little below their limits and round off switches. */
const ACTIVE = 0.9;

/**
 * The limit used most at each of `count` moments, where it is used to at least 90 %; neighbours with the same limit are
 * merged. A stretch where nothing is used that much carries no span.
 */
export function limitSpans(
  use: PathUse,
  duration: number,
  sample: (time: number, out: PathState) => void,
  count: number,
): PathLimitSpan[] {
  const spans: PathLimitSpan[] = [];
  const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
  let id = -1;
  let from = 0;
  for (let i = 0; i <= count; i++) {
    let next = -1;
    if (i < count) {
      sample((duration * (i + 0.5)) / count, state);
      use.load(state.s, 1);
      use.measure(state.sd, state.sdd, state.sddd);
      next = use.use >= ACTIVE ? use.useId : -1;
    }
    if (next === id && i < count) continue;
    const now = (duration * i) / count;
    if (id >= 0 && now > from) spans.push({ ...limitName(id), from, to: now });
    id = next;
    from = now;
  }
  return spans;
}
