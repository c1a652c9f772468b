/** Joint limits on inverse solutions: turning joints may be moved by full turns to get inside. */
import { ContractError } from "../../math/contract-error.ts";
import type { Arm } from "../model.ts";
import type { InverseResult } from "./result.ts";

const TWO_PI = 2 * Math.PI;
/** A value this far (rad, m) outside a limit through rounding is put on the limit. */
const SLACK = 1e-10;

/**
 * The solutions that lie inside the joint limits, in the order of the result; none when the pose is out of reach.
 * @param options.allTurns true: every copy of a branch by full turns that the limits allow (a joint without stops keeps its
 *   value in (-π, π]); false: one per branch, each joint at the copy nearest to the middle of its range
 * @returns rows of n joint values, rad or m; inside the limits exactly
 */
export function withinLimits(
  arm: Arm,
  result: InverseResult,
  options: { readonly allTurns: boolean },
): readonly Float64Array[] {
  const { n } = arm;
  const rows: Float64Array[] = [];
  if (!result.exact) return rows;
  for (let s = 0; s < result.count; s++) {
    const copies: number[][] = [];
    for (let k = 0; k < n; k++) {
      const all = copiesInside(arm, k, result.q[s * n + k]!);
      if (all.length === 0) break;
      copies.push(options.allTurns ? all : [nearestTo(middleOf(arm, k), all)]);
    }
    if (copies.length < n) continue;
    const pick = new Array<number>(n).fill(0);
    for (;;) {
      rows.push(Float64Array.from(copies, (c, k) => c[pick[k]!]!));
      let k = n - 1;
      while (k >= 0 && ++pick[k]! === copies[k]!.length) pick[k--] = 0;
      if (k < 0) break;
    }
  }
  return rows;
}

/**
 * The branch and turns nearest to `reference` inside the joint limits, by Σ weightᵢ·(qᵢ - referenceᵢ)².
 * @param out receives the n joint values; left alone when there is none
 * @param weights per joint, >= 0; all 1 when left out
 * @returns false when the pose is out of reach or no branch lies inside the limits
 * @throws ContractError if reference or out is shorter than n
 */
export function nearestSolution(
  arm: Arm,
  result: InverseResult,
  reference: ArrayLike<number>,
  out: Float64Array,
  weights?: ArrayLike<number>,
): boolean {
  const { n } = arm;
  if (reference.length < n || out.length < n) {
    throw new ContractError(
      `nearestSolution: reference and out must have ${n} values, got ${reference.length} and ${out.length}`,
    );
  }
  if (!result.exact) return false;
  let best = Number.POSITIVE_INFINITY;
  let row = -1;
  for (let s = 0; s < result.count; s++) {
    let sum = 0;
    for (let k = 0; k < n && sum < best; k++) {
      const value = nearestCopy(arm, k, result.q[s * n + k]!, reference[k]!);
      if (Number.isNaN(value)) sum = Number.POSITIVE_INFINITY;
      else sum += (weights === undefined ? 1 : weights[k]!) * (value - reference[k]!) ** 2;
    }
    if (sum < best) {
      best = sum;
      row = s;
    }
  }
  if (row >= 0) for (let k = 0; k < n; k++) out[k] = nearestCopy(arm, k, result.q[row * n + k]!, reference[k]!);
  return row >= 0;
}

/** The copy of a joint value by full turns that is nearest to `reference` and inside the limits; NaN when there is none. */
function nearestCopy(arm: Arm, joint: number, value: number, reference: number): number {
  const min = arm.min[joint]!,
    max = arm.max[joint]!;
  if (arm.prismatic[joint] === 1) return onto(value, min, max);
  let copy = value + TWO_PI * Math.round((reference - value) / TWO_PI);
  if (copy > max + SLACK) copy -= TWO_PI * Math.ceil((copy - max - SLACK) / TWO_PI);
  else if (copy < min - SLACK) copy += TWO_PI * Math.ceil((min - SLACK - copy) / TWO_PI);
  return onto(copy, min, max);
}

/** The value put inside limits that it misses by rounding only; NaN when it lies outside. */
function onto(value: number, min: number, max: number): number {
  if (value > max) return value <= max + SLACK ? max : Number.NaN;
  if (value < min) return value >= min - SLACK ? min : Number.NaN;
  return value;
}

function copiesInside(arm: Arm, joint: number, value: number): number[] {
  const min = arm.min[joint]!,
    max = arm.max[joint]!;
  if (arm.prismatic[joint] === 1 || (min === Number.NEGATIVE_INFINITY && max === Number.POSITIVE_INFINITY)) {
    const inside = onto(value, min, max);
    return Number.isNaN(inside) ? [] : [inside];
  }
  if (!(Number.isFinite(min) && Number.isFinite(max))) {
    const inside = nearestCopy(arm, joint, value, Number.isFinite(min) ? min : max);
    return Number.isNaN(inside) ? [] : [inside];
  }
  const copies: number[] = [];
  const first = Math.ceil((min - SLACK - value) / TWO_PI);
  for (let turn = first; value + TWO_PI * turn <= max + SLACK; turn++) {
    const inside = onto(value + TWO_PI * turn, min, max);
    if (!Number.isNaN(inside)) copies.push(inside);
  }
  return copies;
}

function middleOf(arm: Arm, joint: number): number {
  const min = arm.min[joint]!,
    max = arm.max[joint]!;
  if (Number.isFinite(min) && Number.isFinite(max)) return 0.5 * (min + max);
  return Number.isFinite(min) ? min : Number.isFinite(max) ? max : 0;
}

function nearestTo(wanted: number, values: readonly number[]): number {
  let best = values[0]!;
  for (const v of values) if (Math.abs(v - wanted) < Math.abs(best - wanted)) best = v;
  return best;
}
