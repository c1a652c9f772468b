/** Student's t distribution: what a mean of few samples is worth. */
import { ContractError } from "../../math/contract-error.ts";

/**
 * Value that |t| stays below with probability `confidence`, for `freedom` degrees of freedom.
 * Relative error below 1e-10. @throws ContractError unless 0 < confidence < 1 and freedom >= 1
 * @source P(|t| <= x) = 1 - I_{ν/(ν+x²)}(ν/2, 1/2); Abramowitz & Stegun 26.7.1 (recalled from memory); solved by bisection
 */
export function studentQuantile(confidence: number, freedom: number): number {
  if (!(confidence > 0 && confidence < 1) || !(freedom >= 1) || !Number.isFinite(freedom))
    throw new ContractError(
      `studentQuantile: confidence in (0, 1) and freedom >= 1 are needed, got ${confidence}, ${freedom}`,
    );
  const outside = 1 - confidence;
  const beyond = (x: number) => incompleteBeta(freedom / (freedom + x * x), freedom / 2, 0.5);
  let high = 1;
  while (beyond(high) > outside) high *= 2;
  let low = 0;
  for (let i = 0; i < 200 && high - low > 1e-13 * high; i++) {
    const middle = (low + high) / 2;
    if (beyond(middle) > outside) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Regularised incomplete beta function I_x(a, b), by its continued fraction (Abramowitz & Stegun 26.5.8, Lentz's method). */
function incompleteBeta(x: number, a: number, b: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(1 - x, b, a);
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a;
  const TINY = 1e-300;
  let c = 1;
  let d = 1 / (1 - ((a + b) * x) / (a + 1) || TINY);
  let f = d;
  for (let m = 1; m < 10_000; m++) {
    for (const k of [
      (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m)),
      (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1)),
    ]) {
      d = 1 / (1 + k * d || TINY);
      c = 1 + k / c || TINY;
      f *= c * d;
    }
    if (Math.abs(c * d - 1) < 1e-15) break;
  }
  return front * f;
}

/** ln Γ(x), x > 0: Stirling's series after shifting x above 10; relative error below 1e-14. */
function logGamma(x: number): number {
  let shift = 0;
  let y = x;
  while (y < 10) shift -= Math.log(y++);
  const z = 1 / (y * y);
  const series = (1 / 12 - z * (1 / 360 - z * (1 / 1260 - z * (1 / 1680 - z / 1188)))) / y;
  return shift + (y - 0.5) * Math.log(y) - y + 0.5 * Math.log(2 * Math.PI) + series;
}
