/** Answers about a network of automata, for people. */
import type { Exploration, QueryResult, TraceStep } from "../proof/index.ts";
import { colorsFor, type Layout } from "./terminal.ts";
import { clean, paragraph, table } from "./text.ts";

export function automataText(network: string, result: Exploration, layout: Layout): string {
  const lines = [clean(network), ""];
  const widest = result.queries.reduce((width, { name }) => Math.max(width, [...clean(name)].length), 0);
  for (const query of result.queries) lines.push(...queryLines(query, Math.min(40, widest), layout));
  const { states, discreteStates, moves } = result;
  lines.push("", `${states} symbolic states, up to ${discreteStates} discrete states a search, ${moves} moves`);
  return `${lines.join("\n")}\n`;
}

function queryLines(query: QueryResult, width: number, layout: Layout): string[] {
  const colors = colorsFor(layout);
  const color = { holds: colors.green, violated: colors.red, undecided: colors.yellow }[query.verdict];
  const name = clean(query.name);
  const padded = name + " ".repeat(Math.max(0, width - [...name].length));
  const lines = [`${color(query.verdict.padEnd(9))}  ${padded}  ${query.kind}`];
  if (query.reason !== undefined) lines.push(...paragraph(clean(query.reason), layout.width, "    ", "    "));
  if (query.trace !== undefined && query.trace.length > 0)
    lines.push(...traceLines(query.trace, query.loopFrom, layout).map((line) => `    ${line}`), "");
  return lines;
}

function traceLines(trace: readonly TraceStep[], loopFrom: number | undefined, layout: Layout): string[] {
  const arrow = layout.ascii ? "->" : "→";
  const rows = trace.map((step, k) => {
    const before = trace[k - 1];
    const moves = step.moves.map(({ automaton, from, to, channel, role, label }) => {
      const by = channel === undefined ? "" : ` (${role === "send" ? "sends" : "receives"} ${channel})`;
      return `${automaton}: ${from} ${arrow} ${to}${by}${label === undefined ? "" : ` "${label}"`}`;
    });
    const doing = before === undefined ? "start" : moves.length === 0 ? "time passes" : moves.join("; ");
    return [String(step.at), clean(doing) + (k === loopFrom ? "  [from here on for ever]" : ""), changed(before, step)];
  });
  return table(
    [
      { title: "time", align: "right" },
      { title: "move", align: "left", atLeast: 30 },
      { title: "values", align: "left", atLeast: 10, dropped: 1 },
    ],
    rows,
    layout.width - 4,
    layout.ascii,
  );
}

/** Variables that a step changes; all of them at the start. */
function changed(before: TraceStep | undefined, step: TraceStep): string {
  return Object.entries(step.variables)
    .filter(([name, value]) => before === undefined || String(before.variables[name]) !== String(value))
    .map(([name, value]) => `${name} = ${typeof value === "number" ? value : `[${value.join(", ")}]`}`)
    .join(", ");
}
