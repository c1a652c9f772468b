/**
 * Root of a continuous function between two points of opposite sign, to the last bits: inverse quadratic steps where they
 * are safe, bisection elsewhere.
 * @param fa value at a   @param fb value at b; one of them <= 0, the other >= 0
 * @source T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145-149 (recalled)
 */
export function bracketedRoot(f: (x: number) => number, a: number, b: number, fa: number, fb: number): number {
  if (fa === 0) return a;
  if (fb === 0) return b;
  let x1 = b;
  let f1 = fb;
  let x2 = a;
  let f2 = fa;
  let x3 = a;
  let f3 = fa;
  let t = 0.5;
  for (let i = 0; i < 200; i++) {
    const x = x1 + t * (x2 - x1);
    const fx = f(x);
    if (fx > 0 === f1 > 0) {
      x3 = x1;
      f3 = f1;
    } else {
      x3 = x2;
      f3 = f2;
      x2 = x1;
      f2 = f1;
    }
    x1 = x;
    f1 = fx;
    const best = Math.abs(f1) < Math.abs(f2) ? x1 : x2;
    if (f1 === 0) return x1;
    const width = Math.abs(x2 - x1);
    const least = (2.3e-16 * Math.abs(best) + 1e-300) / width;
    if (!(least < 0.5)) return best;
    const xi = (x1 - x2) / (x3 - x2);
    const phi = (f1 - f2) / (f3 - f2);
    t = 0.5;
    if (phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi) {
      t = (f1 / (f2 - f1)) * (f3 / (f2 - f3)) + ((x3 - x1) / (x2 - x1)) * (f1 / (f3 - f1)) * (f2 / (f3 - f2));
    }
    t = Math.min(1 - least, Math.max(least, t));
  }
  return Math.abs(f1) < Math.abs(f2) ? x1 : x2;
}
