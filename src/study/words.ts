/** Layouts and figures in words, with the units that people use. */
import { toDegrees, toMm } from "../math/units.ts";
import type { Axis } from "./axes.ts";
import type { Objective, Study } from "./study.ts";

const signed = (text: string, value: number) => (value > 0 ? `+${text}` : text);

/** "+60 mm", "-15°", "columns". */
export function valueText({ change, words }: Axis, value: number): string {
  if (words !== undefined) return words[value] ?? "";
  const turns = "along" in change && change.along === "turn";
  const shown = turns ? tidy(toDegrees(value), 2) : tidy(toMm(value), 1);
  return signed(turns ? `${shown}°` : `${shown} mm`, value);
}

/** Digits without zeros at the end. */
const tidy = (value: number, digits: number): string => {
  const rounded = Number(value.toFixed(digits));
  return String(rounded === 0 ? 0 : rounded);
};

/** "base x +60 mm, base turn -15°"; "as it is" when nothing is changed. */
export function layoutText({ axes }: Study, values: ArrayLike<number>): string {
  const changes = axes.flatMap((axis, a) => {
    const value = values[a]!;
    if (Number.isNaN(value) || (axis.words === undefined && value === 0)) return [];
    return [`${axis.name} ${valueText(axis, value)}`];
  });
  return changes.length === 0 ? "as it is" : changes.join(", ");
}

/** What the change of one axis is, as the beginning of a sentence: "Moving the base by +60 mm in x". */
export function changeSentence(axis: Axis, value: number): string {
  const { change } = axis;
  const by = valueText(axis, value);
  switch (change.kind) {
    case "base":
      if (change.along === "turn") return `Turning the base by ${by}`;
      if (change.along === "height")
        return `${value > 0 ? "Raising" : "Lowering"} the base by ${by.replace(/^[+-]/, "")}`;
      return `Moving the base by ${by} in ${change.along}`;
    case "tray":
      return change.along === "turn"
        ? `Turning ${change.holder} by ${by}`
        : `Moving ${change.holder} by ${by} in ${change.along}`;
    case "tcp":
      return `Shifting the tool centre point of ${change.gripper} by ${by} along its ${change.along}`;
    case "order":
      return `Serving ${change.holder} by ${by}`;
    case "gripper":
      return by === change.gripper ? `Keeping ${by}` : `Giving the work of ${change.gripper} to ${by}`;
    case "grip":
      return `Holding ${change.part} by the grip ${by}`;
  }
}

/** "92.30 s", "12.4 mm", "7.1°", "47 %"; "not known" for NaN. */
export function objectiveText(objective: Objective, value: number): string {
  if (Number.isNaN(value)) return "not known";
  switch (objective) {
    case "cycle time":
      return `${value.toFixed(2)} s`;
    case "clearance":
    case "arm clearance":
      return `${toMm(value).toFixed(1)} mm`;
    case "joint margin":
      return `${toDegrees(value).toFixed(1)}°`;
    case "manipulability":
      return value.toPrecision(3);
    case "torque share":
      return `${(100 * value).toFixed(0)} %`;
  }
}

/** What an objective is called in a sentence. */
export const objectiveNoun: Readonly<Record<Objective, string>> = {
  "cycle time": "the cycle time",
  clearance: "the least clearance",
  "arm clearance": "the arm's least clearance",
  "joint margin": "the least joint margin",
  manipulability: "the least manipulability",
  "torque share": "the largest torque share",
};
