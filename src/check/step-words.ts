/** Steps in the words of the cell file, for tables and findings. */
import type { Condition, GoStep, SignalCondition, Step, Target } from "../cell/steps.ts";
import { toMm } from "../math/units.ts";
import { nameFor } from "./targets.ts";

const level = (on: boolean): string => (on ? "on" : "off");
const seconds = (value: number): string => `${Number(value.toFixed(3))} s`;

/** "line to raw-tray, 80 mm off" */
export function stepWords(step: Step, variant: string): string {
  switch (step.kind) {
    case "go":
      return goWords(step, variant);
    case "hold":
      return `close ${step.gripper} on a part from ${nameFor(step.from, variant)}`;
    case "free":
      return `open ${step.gripper}, leave the part in ${nameFor(step.into, variant)}`;
    case "drive":
      return `${step.signal} ${level(step.to)}`;
    case "pulse":
      return `${step.signal} on for ${seconds(step.width)}`;
    case "await":
      return conditionWords(step.condition);
    case "dwell":
      return seconds(step.time);
    case "press":
      return `${Number(step.force.toFixed(1))} N for ${seconds(step.time)}`;
    case "run":
      return step.routine;
    case "each":
      return step.times === undefined ? step.over.map((o) => nameFor(o, variant)).join(", ") : `${step.times} times`;
    case "when":
      return conditionWords(step.condition);
  }
}

function goWords(step: GoStep, variant: string): string {
  const corner = step.blend > 0 ? `, corner rounded within ${Number(toMm(step.blend).toFixed(1))} mm` : "";
  const way = step.route === undefined ? step.by : "found route";
  return `${way} to ${targetWords(step.to, variant)}${corner}`;
}

function targetWords(target: Target, variant: string): string {
  const name = nameFor(target.at, variant);
  const place = target.place === undefined ? "" : `, place ${target.place + 1}`;
  if (target.offset === undefined) return name + place;
  const p = target.offset.pose;
  const distance = Math.hypot(p[3]!, p[7]!, p[11]!);
  return `${name}${place}, ${Number(toMm(distance).toFixed(1))} mm off`;
}

function conditionWords(condition: Condition | SignalCondition): string {
  switch (condition.kind) {
    case "signal":
      return `${condition.signal} ${level(condition.is)}`;
    case "variant":
      return `part is ${condition.part}`;
    case "holder":
    case "gripper": {
      const name = condition.kind === "holder" ? condition.holder : condition.gripper;
      const has = typeof condition.has === "string" ? condition.has : `a part in stage ${condition.has.stage}`;
      return `${name} has ${has === "part" ? "a part" : has}`;
    }
    case "pass":
      return `${condition.which} pass`;
    case "all":
      return condition.of.map(conditionWords).join(" and ");
    case "any":
      return condition.of.map(conditionWords).join(" or ");
    case "not":
      return `not (${conditionWords(condition.of)})`;
  }
}
