/** Finds the method that an arm's geometry allows. */
import { ContractError } from "../../math/contract-error.ts";
import { SeededRandom } from "../../math/seeded-random.ts";
import { smallestSingularValue } from "../../math/singular-values.ts";
import { geometricJacobian } from "../jacobian.ts";
import type { Arm } from "../model.ts";
import { homeAxes } from "./axes.ts";
import { ClosedForm } from "./closed-form.ts";
import { reachOf } from "./descent.ts";
import { GeneralInverse } from "./general.ts";
import { NumericInverse } from "./numeric.ts";
import type { InverseKinematics } from "./result.ts";
import { EXACT_STRUCTURE, findTriples, readingFor } from "./structure.ts";

/** Departure (m or rad) from three meeting or three parallel axes up to which their closed form still gives good starts. */
const NEAR_STRUCTURE = 0.03;
/** Smallest singular value (lengths over half the reach) below which a joint position counts as singular. */
const SINGULAR = 1e-9;
const TRIALS = 8;

/**
 * Inverse kinematics of an arm, by the best method its geometry allows; only the places of the axes are looked at.
 * - Six turning joints with three neighbouring axes through one point, or three parallel: closed form, up to 8 solutions.
 * - Any other six turning joints: elimination, up to 16 solutions. Axes that miss a closed form by a little use it for starts.
 * - Any other arm of 3 to 7 joints: numeric, without a guarantee of completeness (`complete` is false).
 * The solver keeps work space of its own: it is not reentrant, and not to be shared between workers.
 * @throws ContractError if the arm has fewer than 3 or more than 7 joints
 * @example
 * const inverse = createInverse(arm);
 * const result = inverse.solve(baseFromFlange, inverse.result());
 * if (result.exact) for (const q of withinLimits(arm, result, { allTurns: false })) use(q);
 */
export function createInverse(arm: Arm): InverseKinematics {
  const { n } = arm;
  if (!(n >= 3 && n <= 7)) throw new ContractError(`createInverse: joints must be 3 to 7, got ${n}`);
  if (n !== 6) return new NumericInverse(arm, `${n} joints`, n > 6);
  if (alwaysSingular(arm)) return new NumericInverse(arm, "the axes do not span six freedoms", true);
  if (arm.prismatic.includes(1)) return new NumericInverse(arm, "sliding joint", false);
  const home = homeAxes(arm);
  const triples = findTriples(home, NEAR_STRUCTURE);
  const exact = triples.filter((t) => t.departure <= EXACT_STRUCTURE);
  const triple = exact.find((t) => readingFor(t).shift === 0) ?? exact[0];
  if (triple) return new ClosedForm(arm, home, triple);
  return new GeneralInverse(arm, home, triples[0]);
}

/** Whether a six-joint arm is singular at every one of a few random joint positions: four parallel axes, say. */
function alwaysSingular(arm: Arm): boolean {
  const random = new SeededRandom(9);
  const half = reachOf(arm) / 2 || 1;
  const q = new Float64Array(6);
  const jacobian = new Float64Array(36);
  for (let t = 0; t < TRIALS; t++) {
    for (let k = 0; k < 6; k++) q[k] = 6 * random.next() - 3;
    geometricJacobian(arm, q, undefined, jacobian);
    for (let k = 0; k < 18; k++) jacobian[k]! /= half;
    if (smallestSingularValue(jacobian, 6, 6) > SINGULAR) return false;
  }
  return true;
}
