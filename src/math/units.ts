/**
 * Units of measure as types. Inside Millhand every number is SI; a flavour on the type says which unit, so that metres
 * cannot be passed where radians are wanted, while a plain number (a literal, a kernel's result) is accepted anywhere.
 */

declare const unit: unique symbol;

/** A number that carries a unit in its type only. Two different units do not mix; a bare number is accepted. */
export type Quantity<U extends string> = number & { readonly [unit]?: U };

export type Metres = Quantity<"m">;
export type Radians = Quantity<"rad">;
export type Seconds = Quantity<"s">;
export type Kilograms = Quantity<"kg">;
export type Newtons = Quantity<"N">;
export type NewtonMetres = Quantity<"Nm">;
export type MetresPerSecond = Quantity<"m/s">;
export type MetresPerSecond2 = Quantity<"m/s2">;
export type MetresPerSecond3 = Quantity<"m/s3">;
export type RadiansPerSecond = Quantity<"rad/s">;
export type RadiansPerSecond2 = Quantity<"rad/s2">;
export type Amperes = Quantity<"A">;
export type Volts = Quantity<"V">;
export type Ohms = Quantity<"ohm">;

const RADIANS_PER_DEGREE = Math.PI / 180;

/** Millimetres to metres. @example mm(250) // 0.25 */
export const mm = (value: number): Metres => value / 1000;
/** Degrees to radians. @example deg(90) // 1.5708 */
export const deg = (value: number): Radians => value * RADIANS_PER_DEGREE;
/** Milliseconds to seconds. @example ms(40) // 0.04 */
export const ms = (value: number): Seconds => value / 1000;
/** Metres to millimetres, for printing. */
export const toMm = (value: Metres): number => value * 1000;
/** Radians to degrees, for printing. */
export const toDegrees = (value: Radians): number => value / RADIANS_PER_DEGREE;
