/** Lines of a recovery procedure in words. */
import type { Cell } from "../../cell/index.ts";
import type { Answer, Question, RecoveryLine, Retreat, RetreatMove } from "../../proof/index.ts";

const seconds = (value: number): string => `${Number((Math.ceil(value * 10 - 1e-6) / 10).toFixed(1))} s`;
const millimetres = (value: number): string => `${(Math.floor(value * 10000 + 1e-6) / 10).toFixed(1)} mm`;
const level = (on: boolean): string => (on ? "on" : "off");

export function lineWords(cell: Cell, line: RecoveryLine): string {
  const point = (signal: string): string => {
    const { direction, port, point: at } = cell.signals.get(signal) ?? {};
    const where = port === undefined ? "" : `, ${port}${at === undefined ? "" : ` ${at}`}`;
    return `${signal} (${direction ?? "signal"}${where})`;
  };
  switch (line.kind) {
    case "wait":
      return `Wait ${seconds(line.time)}: ${line.until}.`;
    case "await":
      return `Wait until ${line.until}: ${point(line.signal)} ${level(line.is)}, at most ${seconds(line.limit)}. If it does not come: stop, trained people only.`;
    case "ask":
      return `Question ${line.number}, look: ${questionWords(line.question)}`;
    case "read":
      return `Question ${line.number}, read ${point(line.signal)}: ${questionWords(line.question)} ${level(line.level)} means yes, ${level(!line.level)} means no.`;
    case "keep":
      return `Leave as they are: ${line.signals.map((signal) => point(signal)).join(", ")}. They hold, clamp or keep open.`;
    case "set":
      return `Set ${point(line.signal)} ${level(line.to)}.`;
    case "pulse":
      return `Give one pulse of ${seconds(line.width)} on ${point(line.signal)}.`;
    case "bring":
      return line.into === undefined
        ? `Now ${line.device} goes to ${line.position}: hands clear of what moves.`
        : `Now ${line.device} goes to ${line.position}: the part stays in ${line.into}.`;
    case "move":
      return `Move the arm, tool at most 250 mm/s: ${line.retreats.map(retreatWords).join("; ")}.`;
    case "take out":
      return line.gripper !== undefined
        ? `A person takes hold of the part in ${line.gripper}; once it is let go, takes it away.`
        : `A person takes hold of the part in ${line.holder}, nothing moving and the machine at rest; once it is let go, takes it away.`;
    case "refill":
      return refillWords(cell, line.holder);
    case "trained":
      return `Stop: ${line.why}. Trained people only, with all energy locked out. The card ends here.`;
    case "restart":
      return "Everyone out, guards closed: start the routine from its top.";
  }
}

function refillWords(cell: Cell, name: string): string {
  const holder = cell.holders.get(name);
  if (holder?.start === undefined) return `Empty ${name}.`;
  const count = holder.places.length;
  return `Fill ${name}: ${holder.start.part} (${holder.start.stage}) in ${count === 1 ? "its place" : `all ${count} places`}.`;
}

function questionWords(question: Question): string {
  switch (question.kind) {
    case "device":
      return `is ${question.device} ${question.position}?`;
    case "gripper":
      return `does ${question.gripper} hold a part?`;
    case "holder":
      return `is there a part in ${question.holder}?`;
    case "process":
      return `is ${question.process} still running?`;
  }
}

function retreatWords({ from, moves }: Retreat): string {
  const way = moves.map(moveWords).join(", then ");
  const go = moves.length === 0 ? "it is at home" : way;
  return from === undefined || from === "" ? go : `if it came from ${from}: ${go}`;
}

function moveWords({ way, to, longest, clearance }: RetreatMove): string {
  const how = {
    back: `back along its path to ${to}`,
    on: `on along its path to ${to}`,
    joint: `straight in joint space to ${to}`,
  }[way];
  const { least, required, pair } = clearance;
  const room =
    least === undefined
      ? "clearance not computed"
      : least < required - 1e-9
        ? `clearance NOT certified: ${millimetres(Math.max(0, least))} of ${millimetres(required)}${pair === undefined ? "" : `, ${pair.join(" and ")}`}`
        : `clearance ${millimetres(least)}${pair === undefined ? " or more" : `, ${pair.join(" and ")}`}`;
  return `${how} (at most ${seconds(longest)}; ${room})`;
}

/** "1 yes, 2 no" as a condition; null where a line is always done. @param lines of the whole procedure */
export function whenWords(lines: readonly RecoveryLine[], only: readonly Answer[]): string | null {
  if (only.length === 0) return null;
  return only
    .map(({ question, is }) => {
      const line = lines.find((l) => (l.kind === "ask" || l.kind === "read") && l.number === question);
      const about = line?.kind === "ask" || line?.kind === "read" ? ` (${shortly(line.question)})` : "";
      return `${question}: ${is ? "yes" : "no"}${about}`;
    })
    .join(" and ");
}

function shortly(question: Question): string {
  switch (question.kind) {
    case "device":
      return `${question.device} ${question.position}`;
    case "gripper":
      return `part in ${question.gripper}`;
    case "holder":
      return `part in ${question.holder}`;
    case "process":
      return `${question.process} running`;
  }
}
