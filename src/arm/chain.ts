/**
 * The chain that the kernels walk. The fixed turn between two joints is split into Rz(γ)·Rx(α)·Rz(β); the turns about z
 * are taken into the neighbouring joints' values, which leaves one plane rotation and a translation per joint:
 *
 *   baseFromFlange = F0·M0·Rz(o0) · T(p1)·Rx(α1)·M1·Rz(o1) · … · T(p(n-1))·Rx(α(n-1))·M(n-1)·Rz(o(n-1)) · Fn
 *
 * "Chain frame i" is the kernel's joint frame i, turned about its z by γ of the next joint. Unlike a
 * Denavit-Hartenberg reduction no origin is moved along an axis, so nearly parallel axes stay well conditioned.
 */

/** Numbers per joint in `Arm.chain`. */
export const CHAIN_STRIDE = 6;

/** `Arm.chain` of `Arm.fixed`. */
export function buildChain(n: number, fixed: Float64Array): Float64Array {
  const chain = new Float64Array(CHAIN_STRIDE * n + 1);
  const offset = new Float64Array(n);
  for (let i = 1; i < n; i++) {
    const f = 12 * i,
      at = CHAIN_STRIDE * i;
    // Third column of Rz(γ)·Rx(α)·Rz(β): sin γ·sin α, -cos γ·sin α, cos α.
    const sine = Math.hypot(fixed[f + 2]!, fixed[f + 6]!);
    let gamma = sine > 0 ? Math.atan2(fixed[f + 2]!, -fixed[f + 6]!) : 0;
    chain[at + 1] = sine;
    // γ ± π with -α is the same turn; the smaller γ keeps simple arms simple.
    if (Math.abs(gamma) > Math.PI / 2) {
      gamma -= Math.sign(gamma) * Math.PI;
      chain[at + 1] = -sine;
    }
    const c = Math.cos(gamma),
      s = Math.sin(gamma);
    // First row of Rz(-γ)·R is (cos β, -sin β, 0), well conditioned whatever α is.
    const beta = Math.atan2(-(c * fixed[f + 1]! + s * fixed[f + 5]!), c * fixed[f]! + s * fixed[f + 4]!);
    chain[at] = fixed[f + 10]!;
    const x = fixed[f + 3]!,
      y = fixed[f + 7]!;
    chain[at + 2] = c * x + s * y;
    chain[at + 3] = c * y - s * x;
    chain[at + 4] = fixed[f + 11]!;
    offset[i - 1]! += gamma;
    offset[i]! += beta;
  }
  for (let i = 0; i < n; i++) chain[CHAIN_STRIDE * i + 5] = offset[i]!;
  const f = 12 * n;
  const straight = fixed[f] === 1 && fixed[f + 5] === 1 && fixed[f + 10] === 1;
  chain[CHAIN_STRIDE * n] = straight ? 1 : 0;
  return chain;
}
