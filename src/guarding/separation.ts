/**
 * Least distance between a protective device and the hazard, S = K·T + C.
 *
 * Source: ISO 13855:2010 (clauses 6 to 9; formulas recalled, the rule of 2000 and 1600 mm/s and the horizontal field also read in
 * makers' mounting instructions). The 2024 edition changes details: the edition goes with every result. Lengths in m, times in s.
 */
import { ContractError } from "../math/contract-error.ts";
import type { Metres, MetresPerSecond, Seconds } from "../math/units.ts";

export const SEPARATION_EDITION = "ISO 13855:2010";

/** Speeds of a hand and of a walking person that the standard computes with, m/s. */
export const HAND_SPEED = 2;
export const WALKING_SPEED = 1.6;

/** Below this a person standing upright is not kept from the hazard by any device, m. */
const LEAST = 0.1;
/** A curtain computed with the walking speed is not nearer than this, m. */
const LEAST_WALKING = 0.5;

/** What watches, as far as the distance depends on it. Heights above the floor on which people stand. */
export type ProtectiveDevice =
  /** Detection across the way of approach. Resolution d: the smallest body that is always seen, above 0.014 m up to 0.07 m. */
  | { readonly kind: "curtain"; readonly resolution: Metres }
  /** Two to four single beams across the way, at the heights that the standard gives. */
  | { readonly kind: "beams" }
  /** A field along the way of approach (horizontal curtain or scanner) at a height of 0 to 1 m. */
  | { readonly kind: "field"; readonly height: Metres; readonly resolution?: Metres }
  /** Two-hand control; shrouded where a hand cannot reach past it. */
  | { readonly kind: "two hands"; readonly shrouded: boolean }
  /** Interlocked gate without locking; nothing can be reached before it counts as open. */
  | { readonly kind: "gate" }
  /** Pressure-sensitive mat, on the floor or a step. */
  | { readonly kind: "mat"; readonly height: Metres };

export type Separation =
  | {
      readonly ok: true;
      readonly edition: typeof SEPARATION_EDITION;
      /** S, m. */
      readonly distance: Metres;
      /** K, m/s, and C, m, that it was computed with. */
      readonly speed: MetresPerSecond;
      readonly intrusion: Metres;
      readonly rule: string;
    }
  /** The device cannot protect as described. */
  | { readonly ok: false; readonly edition: typeof SEPARATION_EDITION; readonly reason: string };

const result = (distance: number, speed: number, intrusion: number, rule: string): Separation => ({
  ok: true,
  edition: SEPARATION_EDITION,
  distance: Math.max(LEAST, distance) as Metres,
  speed: speed as MetresPerSecond,
  intrusion: intrusion as Metres,
  rule,
});
const refused = (reason: string): Separation => ({ ok: false, edition: SEPARATION_EDITION, reason });

/**
 * Least distance of a device from the hazard.
 * @param time T: from the detection until the hazard has ended, s, at least 0
 * @throws ContractError when the time is negative or not finite
 */
export function separationDistance(device: ProtectiveDevice, time: Seconds | number): Separation {
  if (!(time >= 0 && time < Number.POSITIVE_INFINITY))
    throw new ContractError(`separationDistance: time must be finite and at least 0 s, got ${time}`);
  switch (device.kind) {
    case "curtain":
      return curtain(device.resolution, time);
    case "beams":
      return result(WALKING_SPEED * time + 0.85, WALKING_SPEED, 0.85, "single beams: 1600 mm/s, C = 850 mm");
    case "field":
      return field(device.height, device.resolution, time);
    case "two hands": {
      const intrusion = device.shrouded ? 0 : 0.25;
      return result(
        WALKING_SPEED * time + intrusion,
        WALKING_SPEED,
        intrusion,
        device.shrouded ? "two-hand control, shrouded: C = 0" : "two-hand control: C = 250 mm",
      );
    }
    case "gate":
      return result(WALKING_SPEED * time, WALKING_SPEED, 0, "interlocked gate without locking: C = 0");
    case "mat": {
      if (!(device.height >= 0 && device.height <= 1)) return refused(heightWords("mat", device.height));
      const intrusion = 1.2 - 0.4 * device.height;
      return result(WALKING_SPEED * time + intrusion, WALKING_SPEED, intrusion, "mat: C = 1200 mm - 0.4 H");
    }
  }
}

function curtain(resolution: number, time: number): Separation {
  if (!(resolution > 0 && resolution <= 0.07 + 1e-9))
    return refused(
      `a light curtain of ${(1000 * resolution).toFixed(0)} mm resolution is outside the formula (up to 70 mm)`,
    );
  if (resolution > 0.04 + 1e-9)
    return result(WALKING_SPEED * time + 0.85, WALKING_SPEED, 0.85, "resolution 40 to 70 mm: C = 850 mm");
  const intrusion = Math.max(0, 8 * (resolution - 0.014));
  const byHand = HAND_SPEED * time + intrusion;
  if (byHand <= LEAST_WALKING)
    return result(byHand, HAND_SPEED, intrusion, "resolution to 40 mm: 2000 mm/s, C = 8 (d - 14 mm)");
  return result(
    Math.max(LEAST_WALKING, WALKING_SPEED * time + intrusion),
    WALKING_SPEED,
    intrusion,
    "resolution to 40 mm, above 500 mm: 1600 mm/s but not under 500 mm, C = 8 (d - 14 mm)",
  );
}

function field(height: number, resolution: number | undefined, time: number): Separation {
  if (!(height >= 0 && height <= 1)) return refused(heightWords("horizontal field", height));
  if (resolution !== undefined && height < 15 * (resolution - 0.05) - 1e-9)
    return refused(
      `a field of ${(1000 * resolution).toFixed(0)} mm resolution must be at least ${(15000 * (resolution - 0.05)).toFixed(0)} mm high (H = 15 (d - 50 mm)), it is ${(1000 * height).toFixed(0)} mm: a leg is not seen`,
    );
  const intrusion = Math.max(1.2 - 0.4 * height, 0.85);
  return result(
    WALKING_SPEED * time + intrusion,
    WALKING_SPEED,
    intrusion,
    "field along the approach: C = 1200 mm - 0.4 H, at least 850 mm",
  );
}

const heightWords = (what: string, height: number) =>
  `a ${what} at ${(1000 * height).toFixed(0)} mm is outside the formula (0 to 1000 mm above the floor); higher it can be crept under`;
