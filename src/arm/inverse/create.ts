/** Finds the decomposition that an arm's geometry allows. */
import { ContractError } from "../../math/contract-error.ts";
import type { Arm } from "../model.ts";
import { homeAxes } from "./axes.ts";
import { ClosedForm } from "./closed-form.ts";
import { GeneralInverse } from "./general.ts";
import { NumericInverse } from "./numeric.ts";
import type { InverseKinematics } from "./result.ts";
import { EXACT_STRUCTURE, findTriples, pairsOf, readingFor } from "./structure.ts";

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
  const exact = findTriples(home, EXACT_STRUCTURE);
  const triple = exact.find((t) => readingFor(t).shift === 0) ?? exact[0];
  if (triple) return new ClosedForm(arm, home, triple);
  const neighbours = [0, 1, 2, 3, 4].map((i) => [i, i + 1] as const);
  return new GeneralInverse(arm, home, [], pairsOf(home, neighbours, EXACT_STRUCTURE).join(", "));
}
