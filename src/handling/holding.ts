/**
 * Force that each jaw needs for a load whose direction is known.
 *
 * The load is the force (N) that the jaws have to give the part, f = m (a - g), in the axes of the gripper: z out of it, x from
 * jaw to jaw. Model: the jaws are coupled and centre the part, so that a load along their closing direction shifts force from
 * one jaw to the others without changing the sum of the contact forces. Then with F the force per jaw, n jaws and S the safety
 * factor:
 *
 *   two flat jaws      F = S max(√(fy² + fz²) / (2 µ), |fx| / 2)
 *   n >= 3 jaws        F = S max(|fz| / (n µ), (2/n) √(fx² + fy²))
 *   two V-jaws, round part along z or y, included angle α: F = S max(|f_along| sin(α/2) / (2 µ), |fx| / 2 + |f_across| tan(α/2) / 2)
 *   one jaw            F = S |f| / µ
 *
 * The first term of each is friction, the second keeps every contact closed. By form fit only the second remains.
 * Ignored: elasticity, the turning of the part about the jaws (see jaw-moment), contact patches.
 */
import { ContractError } from "../math/contract-error.ts";
import type { Newtons, Radians } from "../math/units.ts";

export interface Holding {
  /** Whole, >= 1. */
  readonly jaws: number;
  readonly way: "friction" | "form";
  /** Coefficient of friction, > 0; not used by form fit. */
  readonly friction: number;
  /** >= 1. */
  readonly safetyFactor: number;
  /** Included angle of V-jaws, (0, π); undefined: flat jaws. */
  readonly vAngle?: Radians | undefined;
  /** Axis of a round part in V-jaws; undefined: along neither axis of the gripper, or not round. */
  readonly along?: "y" | "z" | undefined;
}

export interface HoldingModel {
  /** The formula in use: "two jaws, friction". */
  readonly name: string;
  /** The formula with its symbols. */
  readonly formula: string;
  /** Force per jaw, N, for a load in gripper axes, N. */
  need(fx: number, fy: number, fz: number): Newtons;
  /** What that force is set by. */
  decides(fx: number, fy: number, fz: number): "friction" | "load along the jaws";
}

/**
 * @throws ContractError if a value is out of its range
 * @source friction term: sum over the jaws m (g + a) S / µ (ASSEMBLY magazine, "How to select a gripper based on grip force"),
 *   with V-jaws m (g + a) S sin(α/2) / (2 µ) per jaw (handbook, recalled from memory); contact term: balance of forces, derived in docs/explanation/handling.md
 * @example holdingModel({ jaws: 2, way: "friction", friction: 0.15, safetyFactor: 2 }).need(0, 0, 14.81) // 98.733
 */
export function holdingModel(holding: Holding): HoldingModel {
  const { jaws, way, friction, safetyFactor: s, vAngle, along } = holding;
  if (!(Number.isInteger(jaws) && jaws >= 1))
    throw new ContractError(`holdingModel: jaws must be a whole number >= 1, got ${jaws}`);
  if (!(s >= 1 && Number.isFinite(s)))
    throw new ContractError(`holdingModel: safetyFactor must be finite and >= 1, got ${s}`);
  if (way === "friction" && !(friction > 0 && Number.isFinite(friction)))
    throw new ContractError(`holdingModel: friction must be finite and > 0, got ${friction}`);
  if (vAngle !== undefined && !(vAngle > 0 && vAngle < Math.PI))
    throw new ContractError(`holdingModel: vAngle must be above 0 and below π rad, got ${vAngle}`);
  const half = vAngle === undefined ? Math.PI / 2 : vAngle / 2;
  const slip = way === "form" ? 0 : (s * Math.sin(half)) / (jaws * friction);
  const { rubbing, pressing } = termsOf(jaws, vAngle === undefined ? undefined : along, Math.tan(half));
  const grip = (x: number, y: number, z: number) => slip * rubbing(x, y, z);
  const contact = (x: number, y: number, z: number) => s * pressing(x, y, z);
  return {
    ...wordsOf(holding),
    need: (x, y, z) => Math.max(grip(x, y, z), contact(x, y, z)),
    decides: (x, y, z) => (grip(x, y, z) >= contact(x, y, z) ? "friction" : "load along the jaws"),
  };
}

type Of = (x: number, y: number, z: number) => number;

/** The part of the load that friction carries, and the share of the load that unloads one contact. */
function termsOf(jaws: number, along: "y" | "z" | undefined, tangent: number): { rubbing: Of; pressing: Of } {
  if (jaws === 1) return { rubbing: (x, y, z) => Math.hypot(x, y, z), pressing: () => 0 };
  if (jaws > 2)
    return { rubbing: (_x, _y, z) => Math.abs(z), pressing: (x, y) => (2 / jaws) * Math.sqrt(x * x + y * y) };
  if (along === "z")
    return {
      rubbing: (_x, _y, z) => Math.abs(z),
      pressing: (x, y) => (Math.abs(x) + Math.abs(y) * tangent) / 2,
    };
  if (along === "y")
    return {
      rubbing: (_x, y) => Math.abs(y),
      pressing: (x, _y, z) => (Math.abs(x) + Math.abs(z) * tangent) / 2,
    };
  return { rubbing: (_x, y, z) => Math.sqrt(y * y + z * z), pressing: (x) => Math.abs(x) / 2 };
}

function wordsOf({ jaws, way, vAngle, along }: Holding): { name: string; formula: string } {
  const count = jaws === 1 ? "one jaw" : jaws === 2 ? "two jaws" : jaws === 3 ? "three jaws" : `${jaws} jaws`;
  if (way === "form")
    return {
      name: `${count}, form fit`,
      formula: jaws === 1 ? "F = 0" : jaws === 2 ? "F = S |fx| / 2" : `F = S (2/${jaws}) √(fx² + fy²)`,
    };
  const sine = vAngle === undefined ? "" : " sin(α/2)";
  const name = vAngle === undefined ? `${count}, friction` : `${count} with V, friction`;
  if (jaws === 1) return { name, formula: `F = S |f|${sine} / µ` };
  if (jaws > 2) return { name, formula: `F = S max(|fz|${sine} / (${jaws} µ), (2/${jaws}) √(fx² + fy²))` };
  if (vAngle === undefined || along === undefined)
    return { name, formula: `F = S max(√(fy² + fz²)${sine} / (2 µ), |fx| / 2)` };
  const across = along === "z" ? "y" : "z";
  return { name, formula: `F = S max(|f${along}| sin(α/2) / (2 µ), |fx| / 2 + |f${across}| tan(α/2) / 2)` };
}
