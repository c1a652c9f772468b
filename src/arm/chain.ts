/**
 * The chain that the kernels walk. The fixed turn between two joints is split into Rz(γ)·Rx(α)·Rz(β); the turns about z
 * are taken into the neighbouring joints' values, which leaves one plane rotation and a translation per joint:
 *
 *   baseFromFlange = F0·M0·Rz(o0) · T(p1)·Rx(α1)·M1·Rz(o1) · … · T(p(n-1))·Rx(α(n-1))·M(n-1)·Rz(o(n-1)) · Fn
 *
 * "Chain frame i" is the kernel's joint frame i turned about its z by γ of the next joint; the last one is not turned.
 * Unlike a Denavit-Hartenberg reduction no origin is moved along an axis, so nearly parallel axes stay well conditioned.
 */

/** Numbers per joint in `Arm.chain`. */
const CHAIN_STRIDE = 6;

/** `Arm.chain` of `Arm.fixed`. */
export function buildChain(n: number, fixed: Float64Array): Float64Array {
  const chain = new Float64Array(CHAIN_STRIDE * n + 1);
  chain[0] = 1;
  for (let i = 1; i < n; i++) {
    const f = 12 * i,
      at = CHAIN_STRIDE * i;
    const { gamma, cosAlpha, sinAlpha, beta } = splitTurn(fixed, f);
    const c = Math.cos(gamma),
      s = Math.sin(gamma);
    const x = fixed[f + 3]!,
      y = fixed[f + 7]!;
    chain[at] = cosAlpha;
    chain[at + 1] = sinAlpha;
    chain[at + 2] = c * x + s * y;
    chain[at + 3] = c * y - s * x;
    chain[at + 4] = fixed[f + 11]!;
    chain[at - 1]! += gamma;
    chain[at + 5]! += beta;
  }
  const f = 12 * n;
  const straight = fixed[f] === 1 && fixed[f + 5] === 1 && fixed[f + 10] === 1;
  chain[CHAIN_STRIDE * n] = straight ? 1 : 0;
  return chain;
}

/** The rotation of the 3 x 4 transform at `fixed[at]` as Rz(γ)·Rx(α)·Rz(β), with γ in [-π/2, π/2]. */
export function splitTurn(
  fixed: Float64Array,
  at: number,
): { readonly gamma: number; readonly cosAlpha: number; readonly sinAlpha: number; readonly beta: number } {
  // Third column: sin γ·sin α, -cos γ·sin α, cos α.
  let sinAlpha = Math.hypot(fixed[at + 2]!, fixed[at + 6]!);
  let gamma = sinAlpha > 0 ? Math.atan2(fixed[at + 2]!, -fixed[at + 6]!) : 0;
  // γ ± π with -α is the same turn; the smaller γ keeps simple arms simple.
  if (Math.abs(gamma) > Math.PI / 2) {
    gamma -= Math.sign(gamma) * Math.PI;
    sinAlpha = -sinAlpha;
  }
  const c = Math.cos(gamma),
    s = Math.sin(gamma);
  // First row of Rz(-γ)·R is (cos β, -sin β, 0), well conditioned whatever α is.
  const beta = Math.atan2(-(c * fixed[at + 1]! + s * fixed[at + 5]!), c * fixed[at]! + s * fixed[at + 4]!);
  return { gamma, cosAlpha: fixed[at + 10]!, sinAlpha, beta };
}
