/** Mass, centre of mass and inertia as written, and whether a body can have them. */
import type { InertiaDescription } from "../arm-description.ts";
import { inertiaOfShapes } from "../shape-inertia.ts";
import type { PlacedShape } from "../shapes.ts";
import type { Written } from "../text/written.ts";
import { type Kind, type Reading, refined } from "./kind.ts";
import { quantities } from "./lists.ts";
import { pointKind } from "./poses.ts";
import { may } from "./records.ts";
import { quantity } from "./scalars.ts";

type Tensor = InertiaDescription["tensor"];

/**
 * Slack in "no principal moment exceeds the sum of the other two". Identified parameters of real arms, published sets among
 * them, miss it by a tenth; a slip of the unit or of the decimal point misses it by far more.
 */
const SLACK = 1.25;

/** Inertia about the centre of mass: xx, yy, zz and perhaps xy, xz, yz. A zero among the first three means "not stated". */
const tensorKind: Kind<Tensor> = refined(
  quantities("inertia", [3, 6], "an inertia [xx, yy, zz] or [xx, yy, zz, xy, xz, yz]"),
  (value, at, reading) => {
    const [xx, yy, zz, xy = 0, xz = 0, yz = 0] = value as number[] as [number, number, number, ...number[]];
    const tensor: Tensor = [xx, yy, zz, xy, xz, yz];
    const reason = impossible(tensor);
    return reason === undefined
      ? tensor
      : reading.log.report(
          "impossible-inertia",
          at,
          reason,
          "the inertia of a rigid body",
          "Check the numbers, their unit, and that they are about the centre of mass.",
        );
  },
);

export const massFields = {
  mass: may(quantity("mass", { above: "0 kg" }), "mass"),
  centre: may(pointKind, "centre of mass [x, y, z]"),
  inertia: may(tensorKind, "inertia about the centre of mass, [xx, yy, zz] or [xx, yy, zz, xy, xz, yz]"),
};

/** Why no body can have this inertia; undefined when one can. */
export function impossible(tensor: Tensor): string | undefined {
  const moments = principalMoments(tensor);
  const [low, middle, high] = moments;
  const scale = Math.max(Math.abs(low), Math.abs(high));
  const shown = moments.map((moment) => Number(moment.toPrecision(4))).join(", ");
  if (low < -1e-6 * scale) return `an inertia with a negative principal moment (${shown} kg m²)`;
  const stated = tensor[0] > 0 && tensor[1] > 0 && tensor[2] > 0;
  if (stated && high > SLACK * (low + middle))
    return `principal moments ${shown} kg m², of which the largest exceeds the sum of the others`;
  return undefined;
}

/** Eigenvalues of the symmetric tensor, rising, to about 1e-8 of the largest (trigonometric solution of the characteristic cubic; Smith, CACM 4(4), 1961). */
export function principalMoments([xx, yy, zz, xy, xz, yz]: Tensor): [number, number, number] {
  const off = xy * xy + xz * xz + yz * yz;
  if (off === 0) return [xx, yy, zz].sort((a, b) => a - b) as [number, number, number];
  const mean = (xx + yy + zz) / 3;
  const p = Math.sqrt(((xx - mean) ** 2 + (yy - mean) ** 2 + (zz - mean) ** 2 + 2 * off) / 6);
  const [a, b, c, d, e, f] = [(xx - mean) / p, (yy - mean) / p, (zz - mean) / p, xy / p, xz / p, yz / p];
  const half = (a * (b * c - f * f) - d * (d * c - f * e) + e * (d * f - b * e)) / 2;
  const angle = Math.acos(Math.max(-1, Math.min(1, half))) / 3;
  const high = mean + 2 * p * Math.cos(angle);
  const low = mean + 2 * p * Math.cos(angle + (2 * Math.PI) / 3);
  return [low, 3 * mean - high - low, high];
}

/**
 * The body that mass, centre, inertia and shapes describe. Without `inertia` the mass is spread over the shapes, about the stated
 * centre if there is one; without shapes it is a point at the centre. Undefined when no mass is stated or after an issue.
 */
export function bodyFrom(
  value: { readonly mass?: number; readonly centre?: readonly number[]; readonly inertia?: Tensor },
  shapes: readonly PlacedShape[],
  at: Written,
  reading: Reading,
): InertiaDescription | undefined {
  const { mass, inertia } = value;
  const centre = value.centre as readonly [number, number, number] | undefined;
  if (mass === undefined) {
    if (centre || inertia) reading.log.wrong("missing-key", at, "mass together with centre and inertia", "Add mass.");
    return undefined;
  }
  const solid = inertiaOfShapes(shapes, mass);
  const where = centre ?? solid?.centre;
  if (where === undefined)
    return reading.log.wrong(
      "missing-key",
      at,
      "the centre of mass, or solid shapes to find it from",
      "Add centre: [x, y, z].",
    );
  return { mass, centre: where, tensor: inertia ?? solid?.tensor ?? [0, 0, 0, 0, 0, 0] };
}
