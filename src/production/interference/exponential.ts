/**
 * Machine interference with random times: N machines, one arm that serves whichever called first; machining times and
 * service times both exponential (the queue M/M/1//N).
 *
 * P0 = 1 / Σ_{n=0..N} N!/(N-n)! ρⁿ with ρ = service time / machining time; arm busy U = 1 - P0; each machine runs for the
 * share U / (N ρ) of the time.
 *
 * @source Cox & Smith, Queues, 1961; Cooper, Introduction to Queueing Theory, 1981 (both recalled from memory)
 */
import { checkedInterference, type Interference, interferenceOf } from "./interference.ts";

/** @param machines whole number from 1 to 10,000   @param ratio mean service time over mean machining time, > 0
 *  @throws ContractError */
export function exponentialInterference(machines: number, ratio: number): Interference {
  checkedInterference("exponentialInterference", machines, ratio);
  // Erlang's recursion on B_n = (n ρ B_{n-1}) / (1 + n ρ B_{n-1}), B_0 = 1, gives 1 - P0 without the factorials that overflow:
  // with S_N = Σ N!/(N-n)! ρⁿ, S_N = 1 + N ρ S_{N-1}, so P0 = 1 / S_N.
  let inverse = 1;
  for (let n = 1; n <= machines; n++) inverse /= inverse + n * ratio;
  return interferenceOf(machines, ratio, 1 - inverse);
}
