/**
 * Machine interference with a service that always takes the same time: N machines, one arm that serves whichever called
 * first, exponential machining times (the queue M/D/1//N).
 *
 * Mean services in one busy period of the arm: B = 1 + Σ_{r=1..N-1} C(N-1, r) Π_{i=1..r} (e^{iρ} - 1); the arm is busy for
 * B / (B + 1/(N ρ)) of the time.
 *
 * @source Ashcroft, The productivity of several machines under the care of one operator, J. Royal Statistical Society B 12,
 * 1950 (the printed table was not seen)
 */
import { checkedInterference, type Interference, interferenceOf } from "./interference.ts";

/** @param machines whole number from 1 to 10,000   @param ratio service time over mean machining time, > 0
 *  @throws ContractError */
export function constantInterference(machines: number, ratio: number): Interference {
  checkedInterference("constantInterference", machines, ratio);
  // Terms are positive, so nothing cancels; a sum too large for a number is an arm that never rests.
  let term = 1;
  let sum = 1;
  for (let r = 1; r < machines && Number.isFinite(sum); r++) {
    term *= ((machines - r) / r) * Math.expm1(r * ratio);
    sum += term;
  }
  const idle = Number.isFinite(sum) ? 1 / (1 + machines * ratio * sum) : 0;
  return interferenceOf(machines, ratio, 1 - idle);
}
