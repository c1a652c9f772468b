/**
 * Puma 560, a published academic test arm: standard DH and link data of Corke & Armstrong-Helouvry, ICRA 1994 (after
 * Armstrong, Khatib & Burdick, ICRA 1986). The table is recalled from memory of those papers; figures computed from it
 * were recomputed independently of this project.
 */
import type { ArmDescription } from "../../src/cell/arm-description.ts";
import { describeDh } from "./describe.ts";

const right = Math.PI / 2;
const geometry = [
  [0, right, 0],
  [0.4318, 0, 0],
  [0.0203, -right, 0.15005],
  [0, right, 0.4318],
  [0, -right, 0],
  [0, 0, 0],
] as const;
const masses = [0, 17.4, 4.8, 0.82, 0.34, 0.09];
const centres = [
  [0, 0, 0],
  [-0.3638, 0.006, 0.2275],
  [-0.0203, -0.0141, 0.07],
  [0, 0.019, 0],
  [0, 0, 0],
  [0, 0, 0.032],
] as const;
const inertias = [
  [0, 0.35, 0],
  [0.13, 0.524, 0.539],
  [0.066, 0.086, 0.0125],
  [1.8e-3, 1.3e-3, 1.8e-3],
  [0.3e-3, 0.4e-3, 0.3e-3],
  [0.15e-3, 0.15e-3, 0.04e-3],
] as const;
/** Motor inertia at the motor (kg m²) and gear ratios. */
const motors = [200e-6, 200e-6, 200e-6, 33e-6, 33e-6, 33e-6];
const ratios = [62.6111, 107.815, 53.7063, 76.0364, 71.923, 76.686];

export function puma560(options: { readonly motors?: boolean } = {}): ArmDescription {
  return describeDh(
    "Puma 560",
    geometry.map(([a, alpha, d], i) => ({
      a,
      alpha,
      d,
      inertia: { mass: masses[i]!, centre: centres[i]!, tensor: [...inertias[i]!, 0, 0, 0] as const },
      motorInertia: options.motors ? motors[i]! * ratios[i]! ** 2 : 0,
    })),
  );
}
