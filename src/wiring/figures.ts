/** Figures of messages, in the units of the trade. */

/** "0.5 A", "90 mA" */
export const amperes = (value: number): string =>
  value >= 1 ? `${Number(value.toPrecision(4))} A` : `${Number((value * 1000).toPrecision(4))} mA`;
/** "24 V" */
export const volts = (value: number): string => `${Number(value.toPrecision(4))} V`;
/** "200 ms" */
export const millis = (value: number): string => `${Number((value * 1000).toPrecision(6))} ms`;

/** "a, b and 3 more" */
export function some(names: readonly string[], most = 6): string {
  return names.length <= most
    ? names.join(", ")
    : `${names.slice(0, most - 1).join(", ")} and ${names.length - most + 1} more`;
}
