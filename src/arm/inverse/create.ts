/** Finds the decomposition that an arm's geometry allows. */
import { ContractError } from "../../math/contract-error.ts";
import type { Arm } from "../model.ts";
import { homeAxes } from "./axes.ts";
import { ClosedForm } from "./closed-form.ts";
import { GeneralInverse } from "./general.ts";
import { NumericInverse } from "./numeric.ts";
import type { InverseKinematics } from "./result.ts";
import { EXACT_STRUCTURE, findTriples, readingFor } from "./structure.ts";

/** Departure (m or rad) from three meeting or three parallel axes up to which their closed form still gives good starts. */
const NEAR_STRUCTURE = 0.03;

/**
 * Inverse kinematics of an arm, by the best method its geometry allows.
 * @throws ContractError if the arm has fewer than 3 or more than 7 joints
 */
export function createInverse(arm: Arm): InverseKinematics {
  const { n } = arm;
  if (!(n >= 3 && n <= 7)) throw new ContractError(`createInverse: joints must be 3 to 7, got ${n}`);
  if (n !== 6) return new NumericInverse(arm, `${n} joints`);
  if (arm.prismatic.includes(1)) return new NumericInverse(arm, "sliding joint");
  const home = homeAxes(arm);
  const triples = findTriples(home, NEAR_STRUCTURE);
  const exact = triples.filter((t) => t.departure <= EXACT_STRUCTURE);
  const triple = exact.find((t) => readingFor(t).shift === 0) ?? exact[0];
  if (triple) return new ClosedForm(arm, home, triple);
  return new GeneralInverse(arm, home, triples[0]);
}
