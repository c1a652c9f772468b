/** Limits of one coordinate, the same in both directions. */
import { ContractError } from "../../math/contract-error.ts";

/** All > 0, Infinity where nothing limits. Units of the coordinate per s, s², s³. */
export interface AxisLimits {
  readonly velocity: number;
  readonly acceleration: number;
  readonly jerk: number;
}

/** @throws ContractError if a limit is not above 0 (Infinity is allowed unless `finite`). */
export function requirePositive(where: string, name: string, value: number, finite = false): void {
  if (!(value > 0) || (finite && value === Number.POSITIVE_INFINITY)) {
    throw new ContractError(`${where}: ${name} must be ${finite ? "finite and " : ""}above 0, got ${value}`);
  }
}

/** @throws ContractError if the value is not a finite number. */
export function requireFinite(where: string, name: string, value: number): void {
  if (!Number.isFinite(value)) throw new ContractError(`${where}: ${name} must be finite, got ${value}`);
}
