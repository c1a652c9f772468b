/**
 * Digital inputs for 24 V d.c. after IEC 61131-2, types 1, 2 and 3: what voltage and current are off and on.
 * @source IEC 61131-2, table of operating ranges of current-sinking inputs. The voltages of types 1 and 3, and the least current
 *   of type 1, were compared with published extracts; the other figures are from memory, see docs/explanation/wiring.md
 */
import type { Amperes, Volts } from "../math/units.ts";

export interface InputType {
  /** Off at any current. */
  readonly offVolts: readonly [min: Volts, max: Volts];
  /** Off as well below this current, up to this voltage. */
  readonly offBelow: { readonly current: Amperes; readonly upTo: Volts };
  readonly onVolts: readonly [min: Volts, max: Volts];
  /** Current that an input takes when on. */
  readonly onCurrent: readonly [min: Amperes, max: Amperes];
}

export const INPUT_TYPES: Readonly<Record<1 | 2 | 3, InputType>> = {
  1: { offVolts: [-3, 5], offBelow: { current: 0.0005, upTo: 15 }, onVolts: [15, 30], onCurrent: [0.002, 0.015] },
  2: { offVolts: [-3, 5], offBelow: { current: 0.002, upTo: 11 }, onVolts: [11, 30], onCurrent: [0.006, 0.03] },
  3: { offVolts: [-3, 5], offBelow: { current: 0.0015, upTo: 11 }, onVolts: [11, 30], onCurrent: [0.002, 0.015] },
};

/** Supply of 24 V d.c. systems: nominal -15 %, +20 % (IEC 61131-2). */
export const SUPPLY_VOLTS: readonly [min: Volts, max: Volts] = [20.4, 28.8];

export type InputState = "on" | "off" | "undefined" | "outside";

/**
 * What an input of a type makes of a voltage at its terminal.
 * @param volts V
 * @param amperes current into it where known, A; at least 0
 * @returns "undefined" between the ranges, "outside" where the standard allows no voltage
 */
export function inputState(type: 1 | 2 | 3, volts: Volts, amperes?: Amperes): InputState {
  const { offVolts, offBelow, onVolts, onCurrent } = INPUT_TYPES[type];
  if (!(volts >= offVolts[0] && volts <= onVolts[1])) return "outside";
  if (volts <= offVolts[1]) return "off";
  if (amperes !== undefined && amperes < offBelow.current && volts <= offBelow.upTo) return "off";
  if (volts < onVolts[0]) return "undefined";
  return amperes !== undefined && amperes < onCurrent[0] ? "undefined" : "on";
}
