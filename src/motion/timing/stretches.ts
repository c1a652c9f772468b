/** A path with stretches of constant tool speed: those are given, the stretches between them are re-timed to fit. */
import { ConstantSpeedLaw } from "./constant-speed.ts";
import { JoinedLaw, type Law } from "./joined-law.ts";
import type { PathRange, PathTimingFailure } from "./path-types.ts";
import { LIMIT, limitId, limitName, type PathUse } from "./path-use.ts";
import { KEPT } from "./refinement.ts";
import { type MovingEnd, type RetimeOptions, retimeStretch } from "./retime.ts";

/**
 * Law of the whole path. A constant speed at an end of the path, where the motion rests, cannot be; nor can two different
 * speeds meet; nor can a speed be reached in less room than the limits need.
 */
export function lawOfStretches(
  use: PathUse,
  borders: readonly number[],
  options: RetimeOptions,
): { readonly ok: true; readonly law: Law } | PathTimingFailure {
  const length = use.path.length;
  const near = 1e-9 * length;
  const constant = (use.limits.ranges ?? []).filter(
    (range) => range.constantSpeed !== undefined && range.to > range.from,
  );
  const laws: Law[] = [];
  const from: number[] = [];
  let at = 0;
  let moving: MovingEnd | undefined;
  let speed = 0;
  const refusal = (s: number, needed?: number): PathTimingFailure => ({
    ok: false,
    reason: "constant speed",
    s,
    ...(needed !== undefined && Number.isFinite(needed) ? { use: needed } : {}),
  });
  const free = (to: number, end: MovingEnd | undefined): PathTimingFailure | undefined => {
    const inside = borders.filter((s) => s > at + near && s < to - near);
    const retimed = retimeStretch(use, at, to, moving, end, inside, options);
    if (!retimed.law) {
      const limit = limitName(limitId(LIMIT.torque, retimed.row));
      return { ok: false, reason: "torque at rest", s: retimed.s, limit, use: retimed.share };
    }
    if ((moving || end) && !(retimed.need <= KEPT)) return refusal(end ? to : at, retimed.need);
    laws.push(retimed.law);
    from.push(at);
    return undefined;
  };
  for (const range of constant) {
    const { from: start, to } = range as PathRange;
    const wanted = range.constantSpeed!;
    if (start <= near) return refusal(0);
    if (to >= length - near) return refusal(length);
    const law = new ConstantSpeedLaw(use, wanted, [
      start,
      ...borders.filter((s) => s > start + near && s < to - near),
      to,
    ]);
    const failure = law.failure();
    if (failure) return failure;
    if (start > at + near) {
      const failed = free(start, law.end(false));
      if (failed) return failed;
    } else if (wanted !== speed) return refusal(start);
    laws.push(law);
    from.push(start);
    at = to;
    moving = law.end(true);
    speed = wanted;
  }
  const failed = free(length, undefined);
  if (failed) return failed;
  return { ok: true, law: laws.length === 1 ? laws[0]! : new JoinedLaw(laws, [...from, length]) };
}
