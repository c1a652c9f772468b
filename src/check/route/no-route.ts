/** Why no route was found, in words, and what would help: doors and branches are tried, not guessed. */
import { machineDevices } from "../../cell/equipment.ts";
import type { Cell } from "../../cell/model.ts";
import type { Situation } from "../../cycle/index.ts";
import { toMm } from "../../math/units.ts";
import type { MotionFailure } from "../../motion/index.ts";
import type { RouteOutcome } from "../../route/index.ts";
import type { MomentScene } from "./scene.ts";

export interface NoRoute {
  readonly cell: Cell;
  /** Where the motion goes. */
  readonly label: string;
  /** Distance wanted, m. */
  readonly required: number;
  readonly moment: MomentScene;
  readonly outcome: Extract<RouteOutcome, { ok: false }>;
  readonly devices: Situation;
  /** Whether there is a route with the devices there. */
  readonly reachable: (devices: Situation) => boolean;
  /** A step that leaves the place where the motion begins, tried; undefined where there is none. */
  readonly wayOut: string | undefined;
  /** Whether there is one to another branch than the one asked for. */
  readonly otherBranch: boolean;
}

export function noRouteFailure(none: NoRoute): MotionFailure {
  const { label, outcome } = none;
  const common = { kind: "no route", segment: 0, fraction: 0 } as const;
  if (outcome.reason === "cancelled")
    return { ...common, message: `the search for a route to ${label} was cancelled`, mend: "Run the check again." };
  return { ...common, message: messageOf(none), mend: mendOf(none) };
}

/** What is wrong, without what would help. */
function messageOf({
  label,
  moment,
  outcome,
  required,
}: Omit<NoRoute, "reachable" | "otherBranch" | "wayOut">): string {
  const { elements } = moment.scene;
  const between = outcome.pair?.map((i) => elements[i]!.name).join(" and ");
  const wanted = `${Number(toMm(required).toFixed(2))} mm`;
  const detail = outcome.message.replace(/^(start|goal \d+): /, "");
  switch (outcome.reason) {
    case "start outside limits":
      return `no route to ${label}: the motion begins outside the joint limits: ${detail}`;
    case "goal outside limits":
      return `no route to ${label}: it ends outside the joint limits: ${detail}`;
    case "start not clear":
      return `no route to ${label}: where it begins, ${between} ${nearWords(detail)}; ${wanted} are wanted`;
    case "goal not clear":
      return `no route to ${label}: where it ends, ${between} ${nearWords(detail)}; ${wanted} are wanted`;
    case "no way":
      return `there is no route to ${label}, which is proved${between === undefined ? "" : ` from ${between}`}: ${detail}`;
    default:
      return `no route to ${label} was found in ${outcome.states} states looked at; there may be one`;
  }
}

/** "overlap by 3.1 mm", "are 4.2 mm apart", from the router's words. */
function nearWords(detail: string): string {
  const distance = /are (-?[\d.]+) mm apart/.exec(detail)?.[1];
  if (distance === undefined) return `are too near (${detail})`;
  const rounded = Math.abs(Number(distance)).toFixed(1);
  return Number(distance) < 0 ? `overlap by ${rounded} mm` : `are ${rounded} mm apart`;
}

function mendOf(none: NoRoute): string {
  const { outcome, otherBranch, required, wayOut } = none;
  const less = `or state \`clearance\` in the step if less than ${Number(toMm(required).toFixed(2))} mm will do`;
  const door = deviceThatHelps(none);
  if (door !== undefined) return door;
  if (wayOut !== undefined)
    return `Withdraw by a line first, and find the route from there: \`${wayOut}\` touches nothing and ends far enough from everything (tried); ${less}.`;
  if (otherBranch) return "Leave `branch` out of the step or the pose: another branch can be reached by a route.";
  switch (outcome.reason) {
    case "start outside limits":
    case "goal outside limits":
      return "Choose a pose inside the joint limits.";
    case "start not clear":
      return `Draw the tool out by a line first (a \`go\` with \`by: line\` and an \`offset\`), and find the route from there; ${less}.`;
    case "goal not clear":
      return `End the found route at an \`offset\` before the place and go on by a line, choose another branch or pose; ${less}.`;
    case "no way":
      return `Make room for the way: move what closes it, go to another pose, carry the part otherwise; ${less}.`;
    default:
      return `Go by way of another pose where the way is narrow, ask for another \`route seed\` in \`motion\`, choose another branch; ${less}.`;
  }
}

/** Tries every device at each of its positions. */
function deviceThatHelps({ cell, devices, moment, reachable }: NoRoute): string | undefined {
  const about = new Set(moment.scene.elements.flatMap(({ device }) => device?.name ?? []));
  for (const device of machineDevices(cell)) {
    if (!about.has(device.name)) continue;
    const now = devices.get(device.name);
    for (const position of device.positions) {
      const stretches = now?.stretches ?? [{ from: device.start, to: device.start }];
      if (stretches.length === 1 && stretches[0]!.from === position && stretches[0]!.to === position) continue;
      const moved = new Map(devices);
      const there = { stretches: [{ from: position, to: position }], target: position, sentBy: undefined };
      moved.set(device.name, there);
      if (!reachable(moved)) continue;
      const feedback = device.feedback.get(position);
      const worst = device.time.get(position)?.max ?? 0;
      const wait =
        feedback === undefined ? `dwell ${Number(worst.toFixed(3))} s, its longest time` : `await ${feedback}`;
      const how =
        now?.target === position
          ? `${wait[0]!.toUpperCase()}${wait.slice(1)} before this step`
          : `Bring ${device.name} to ${position} before this step, and ${wait}`;
      return `${how}: with ${device.name} ${position} there is a route.`;
    }
  }
  return undefined;
}
