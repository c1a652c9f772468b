/**
 * Whether what is at either end of a wire suits the other: levels, types of inputs, PNP and NPN, voltages, coils, couplings.
 * Input types after IEC 61131-2; voltage lost in a cable by Ohm's law, R = 2 ρ l / A.
 */
import type { Ohms, Volts } from "../math/units.ts";
import { amperes, some, volts } from "./figures.ts";
import { INPUT_TYPES, inputState, SUPPLY_VOLTS } from "./input-types.ts";
import type { WiringProblem } from "./problem.ts";
import { placeText, type Wire } from "./wire.ts";

/** Of annealed copper at 20 °C, 1/58 Ω mm²/m = 1/58e6 Ω m (IEC 60028). */
export const COPPER = 1 / 58e6;
/** A load works down to this share of its voltage: the lower end of 24 V supplies. */
const LEAST_SHARE = 0.85;

/** Resistance of both wires of a cable, Ω. @param length one way, m @param area of one wire, m² */
export const loopResistance = (length: number, area: number): Ohms => (2 * COPPER * length) / area;

/** Voltage at the load of an output behind its cable; undefined where supply, current or cable are not stated. */
export function voltageAtLoad({ signal, supply }: Wire): Volts | undefined {
  if (supply?.voltage === undefined || signal.current === undefined || signal.cable === undefined) return undefined;
  return supply.voltage - signal.current * loopResistance(signal.cable.length, signal.cable.area);
}

export interface CableLoss {
  readonly signal: string;
  /** Of both wires, Ω. */
  readonly resistance: Ohms;
  /** Left at the load of an output, V; null where supply or current are not stated, or for an input. */
  readonly left: Volts | null;
}

/** Every stated cable of a digital signal. */
export function cableLosses(wires: readonly Wire[]): CableLoss[] {
  return wires.flatMap((wire): CableLoss[] => {
    const { cable, name, direction } = wire.signal;
    if (cable === undefined || !wire.kind.startsWith("digital")) return [];
    const left = direction === "output" ? voltageAtLoad(wire) : undefined;
    return [{ signal: name, resistance: loopResistance(cable.length, cable.area), left: left ?? null }];
  });
}

export function compatibilityProblems(wires: readonly Wire[]): WiringProblem[] {
  const problems: WiringProblem[] = [];
  for (const wire of wires) {
    const add = (code: string, severity: WiringProblem["severity"], message: string, mend: string) =>
      problems.push({ code, severity, path: ["signals", wire.signal.name], subject: "", message, mend });
    if (wire.kind === "digital inputs") inputProblems(wire, add);
    if (wire.kind === "digital outputs") outputProblems(wire, add);
  }
  const direct = wires.filter(
    ({ signal, end, kind }) => kind.startsWith("digital") && signal.coupling === "direct" && end.owner === "machine",
  );
  for (const machine of new Set(direct.map(({ end }) => end.of!))) {
    const names = direct.filter(({ end }) => end.of === machine).map(({ signal }) => signal.name);
    problems.push({
      code: "interposing-relay",
      severity: "caution",
      path: ["machines", machine],
      subject: "",
      message: `${some(names)} tie the 0 V and 24 V of the arm controller to those of ${machine}: a fault or a difference of earth potential in one reaches the other`,
      mend: "Put interposing relays or optocouplers between, unless both are fed and earthed as one and the machine's documents allow it.",
    });
  }
  return problems;
}

type Add = (code: string, severity: WiringProblem["severity"], message: string, mend: string) => void;

function inputProblems(wire: Wire, add: Add): void {
  const { signal, ratings, supply } = wire;
  const at = placeText(wire);
  const type = ratings.inputType;
  // What is coupled switches the supply of the input: level, leakage and polarity are then its own.
  if (signal.coupling === "relay" || signal.coupling === "optocoupler") return;
  const level = signal.voltage ?? supply?.voltage;
  if (type !== undefined && level !== undefined) {
    const most = INPUT_TYPES[type].onCurrent[1];
    const lost = signal.cable === undefined ? 0 : most * loopResistance(signal.cable.length, signal.cable.area);
    const state = inputState(type, level - lost);
    if (state !== "on")
      add(
        "input-level",
        "error",
        `${signal.name} gives ${volts(level - lost)} when on${lost > 0 ? ` behind its cable` : ""}; for ${at}, an input of type ${type} (IEC 61131-2), that is ${state === "outside" ? "outside what is allowed" : state}: on is ${volts(INPUT_TYPES[type].onVolts[0])} to ${volts(INPUT_TYPES[type].onVolts[1])}`,
        "Couple it with a relay or optocoupler for that voltage, or take an input that it suits.",
      );
  }
  if (type !== undefined && signal.leakage !== undefined && signal.leakage >= INPUT_TYPES[type].offBelow.current)
    add(
      "leakage-too-high",
      "error",
      `${signal.name} lets ${amperes(signal.leakage)} through when off; an input of type ${type} (IEC 61131-2) is sure to be off only below ${amperes(INPUT_TYPES[type].offBelow.current)}`,
      type === 2
        ? "Put a resistor across the input, or take a three-wire sensor."
        : "Take an input of type 2, a resistor across the input, or a three-wire sensor.",
    );
  if (
    type !== undefined &&
    signal.holdingCurrent !== undefined &&
    signal.holdingCurrent > INPUT_TYPES[type].onCurrent[0]
  )
    add(
      "holding-current-too-low",
      "error",
      `${signal.name} needs ${amperes(signal.holdingCurrent)} to stay on; an input of type ${type} (IEC 61131-2) is sure to take only ${amperes(INPUT_TYPES[type].onCurrent[0])}`,
      type === 2 ? "Take a three-wire sensor." : "Take an input of type 2, or a three-wire sensor.",
    );
  const wanted = ratings.inputs === "sinking" ? "PNP" : ratings.inputs === "sourcing" ? "NPN" : undefined;
  if (wanted !== undefined && signal.polarity !== undefined && signal.polarity !== wanted)
    add(
      "polarity-mismatch",
      "error",
      `${signal.name} is ${signal.polarity} (switches ${signal.polarity === "PNP" ? "plus" : "minus"}); ${at} is a ${ratings.inputs} input, which wants ${wanted}`,
      `Take a ${wanted} sensor, set the input's common the other way if it can be, or put a relay between.`,
    );
}

function outputProblems(wire: Wire, add: Add): void {
  const { signal, ratings, supply, end } = wire;
  const at = placeText(wire);
  const gives = ratings.outputs === "sourcing" ? "PNP" : ratings.outputs === "sinking" ? "NPN" : undefined;
  const coupled = signal.coupling === "relay" || signal.coupling === "optocoupler";
  if (!coupled && gives !== undefined && signal.polarity !== undefined && signal.polarity !== gives)
    add(
      "polarity-mismatch",
      "error",
      `${signal.name}: ${end.what || "what it drives"} is to be switched by ${signal.polarity === "PNP" ? "plus (PNP)" : "minus (NPN)"}; ${at} is a ${ratings.outputs} output`,
      "Put an interposing relay or an optocoupler between.",
    );
  if (!coupled && signal.voltage !== undefined && supply?.voltage !== undefined && ratings.outputs !== "relay") {
    const atLoad = voltageAtLoad(wire);
    const ratio = supply.voltage / signal.voltage;
    if (ratio < SUPPLY_VOLTS[0] / 24 - 1e-9 || ratio > SUPPLY_VOLTS[1] / 24 + 1e-9)
      add(
        "voltage-mismatch",
        "error",
        `${signal.name} drives a load made for ${volts(signal.voltage)}; ${at} switches ${volts(supply.voltage)}`,
        "Take a load for that voltage, or switch it by an interposing relay from a supply of its own.",
      );
    else if (atLoad !== undefined && atLoad < LEAST_SHARE * signal.voltage)
      add(
        "cable-too-long",
        "warning",
        `${signal.name}: ${volts(atLoad)} are left at the load of ${amperes(signal.current!)} behind ${Number(signal.cable!.length.toPrecision(4))} m of ${Number((signal.cable!.area * 1e6).toPrecision(4))} mm²; it is made for ${volts(signal.voltage)} and wants ${volts(LEAST_SHARE * signal.voltage)} at least`,
        "Take a thicker or shorter cable, or a relay near the load.",
      );
  }
  const coil = signal.load === "relay" || signal.load === "valve" || signal.coupling === "relay";
  if (coil && signal.suppression === "none")
    add(
      "coil-unsuppressed",
      "warning",
      `${signal.name} switches the coil of a ${signal.load === "valve" ? "valve" : "relay"} without suppression: when it is switched off its energy, L i²/2, raises a voltage that destroys transistors and wears contacts`,
      "Put a diode, varistor or RC element across the coil; a diode makes it drop out later.",
    );
}
