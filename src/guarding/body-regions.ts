/**
 * What parts of the body bear: the model of ISO/TS 15066:2016, annex A (tables A.2 and A.3).
 *
 * Recalled from memory of the tables; the stiffness of skull, face, neck, back and shoulders, chest and abdomen was also read in
 * public texts. The limits go into ISO 10218-2:2025 with changes: read the text in force before relying on a number.
 * They are thresholds of pain for adults, not of safety.
 */
import type { BodyRegionName } from "../cell/guarding.ts";

export interface BodyRegion {
  readonly name: BodyRegionName;
  /** k, N/m, and m_H, kg, of the spring and mass that stand for it. */
  readonly stiffness: number;
  readonly mass: number;
  /** Largest force of clamping, N. */
  readonly force: number;
  /** Largest pressure of clamping, N/m²: that of the most sensitive place of the region. */
  readonly pressure: number;
  /** How much more a blow that can recoil may have; undefined: a blow is not permitted at all. */
  readonly transientFactor: number | undefined;
}

/** N/cm² as N/m². */
const PER_CM2 = 1e4;

const region = (
  name: BodyRegionName,
  stiffnessPerMm: number,
  mass: number,
  force: number,
  pressurePerCm2: number,
  blow: "permitted" | "not permitted" = "permitted",
): BodyRegion => ({
  name,
  stiffness: 1000 * stiffnessPerMm,
  mass,
  force,
  pressure: PER_CM2 * pressurePerCm2,
  transientFactor: blow === "permitted" ? 2 : undefined,
});

const ALL: readonly BodyRegion[] = [
  region("skull", 150, 4.4, 130, 110, "not permitted"),
  region("face", 75, 4.4, 65, 110, "not permitted"),
  region("neck", 50, 1.2, 150, 140),
  region("shoulder", 35, 40, 210, 160),
  region("chest", 25, 40, 140, 120),
  region("abdomen", 10, 40, 110, 140),
  region("pelvis", 25, 40, 180, 210),
  region("upper arm", 30, 3, 150, 190),
  region("lower arm", 40, 2, 160, 180),
  region("hand", 75, 0.6, 140, 190),
  region("thigh", 50, 75, 220, 220),
  region("lower leg", 60, 75, 130, 210),
];

/** By name. */
export const bodyRegions: ReadonlyMap<BodyRegionName, BodyRegion> = new Map(ALL.map((entry) => [entry.name, entry]));
