/** Recovery procedures as cards: in words, with wiring points; steps and parts whose procedures are the same share one. */
import type { Cell } from "../../cell/index.ts";
import type { RecoveryLine, RecoveryProcedure, Retreat, StepRecovery } from "../../proof/index.ts";
import { lineWords, whenWords } from "./words.ts";

export interface CardLine {
  readonly kind: RecoveryLine["kind"];
  /** Answers without which the line is left out, in words; null: it is always done. */
  readonly when: string | null;
  readonly text: string;
  /** The signal read or set and where it is wired. */
  readonly signal: string | null;
  readonly wired: string | null;
  /** Of a motion: the least clearance that is certified along it, m. */
  readonly clearance_m: number | null;
}

export interface CardProcedure {
  readonly cause: "stopped" | "power lost";
  readonly verdict: "proved" | "not proved";
  /** Why it is not proved. */
  readonly reasons: readonly string[];
  /** In some of the states it ends with trained people. */
  readonly trained: boolean;
  readonly possible: readonly string[];
  readonly lines: readonly CardLine[];
}

export interface RecoveryCard {
  /** "load[3] to load[5], unload[4]". */
  readonly title: string;
  readonly steps: readonly string[];
  readonly variants: readonly string[];
  readonly procedures: readonly CardProcedure[];
}

export interface CardReport {
  readonly cards: readonly RecoveryCard[];
  /** Steps that have a card, and those all of whose procedures are proved. */
  readonly steps: number;
  readonly proved: number;
  readonly assumptions: readonly string[];
}

/** Said on every card. */
export const CARD_CAUTIONS: readonly string[] = [
  "Before anyone reaches into the machine: energy locked out as local codes demand, the arm in its manual reduced-speed mode with an enabling device (250 mm/s, ISO 10218-1).",
  "Watch the first movement: after a category 0 stop, or after something was hit, the arm may stand beside its path. Then do not follow this card; call trained people.",
  "If anything is not as this card says it may be, stop and call trained people.",
  "The card is computed from the cell file. It does not replace the risk assessment nor licensed practice; local codes come first.",
];

interface Entry {
  readonly steps: string[];
  readonly variants: Set<string>;
  procedures: readonly RecoveryProcedure[];
}

export function cardsOf(cell: Cell, found: readonly StepRecovery[]): CardReport {
  // The same step for different parts, then different steps.
  const byStep = new Map<string, { stepId: string; variants: Set<string>; procedures: readonly RecoveryProcedure[] }>();
  for (const { stepId, variant, procedures } of found) {
    const key = JSON.stringify([stepId, procedures.map(shapeOf)]);
    const known = byStep.get(key);
    if (known === undefined) byStep.set(key, { stepId, variants: new Set([variant]), procedures });
    else {
      known.variants.add(variant);
      known.procedures = merged(known.procedures, procedures);
    }
  }
  const cards = new Map<string, Entry>();
  for (const { stepId, variants, procedures } of byStep.values()) {
    const key = JSON.stringify([[...variants].sort(), procedures.map(shapeOf)]);
    const known = cards.get(key);
    if (known === undefined) cards.set(key, { steps: [stepId], variants, procedures });
    else {
      known.steps.push(stepId);
      known.procedures = merged(known.procedures, procedures);
    }
  }
  const verdicts = new Map<string, boolean>();
  for (const { stepId, procedures } of found)
    verdicts.set(
      stepId,
      (verdicts.get(stepId) ?? true) &&
        procedures.length > 0 &&
        procedures.every(({ verdict }) => verdict === "proved"),
    );
  return {
    cards: [...cards.values()].map(({ steps, variants, procedures }) => ({
      title: rangesOf(steps),
      steps,
      variants: [...variants],
      procedures: procedures.map((procedure) => cardProcedure(cell, procedure)),
    })),
    steps: verdicts.size,
    proved: [...verdicts.values()].filter(Boolean).length,
    assumptions: [],
  };
}

function cardProcedure(cell: Cell, procedure: RecoveryProcedure): CardProcedure {
  const { cause, verdict, reasons, trained, possible, lines } = procedure;
  return {
    cause,
    verdict,
    reasons,
    trained,
    possible: possible.flatMap(({ what, values, usual }) =>
      values.length === 1 && values[0] === usual ? [] : [`${what}: ${values.join(" or ")}`],
    ),
    lines: lines.map((line): CardLine => {
      const signal = "signal" in line ? line.signal : null;
      return {
        kind: line.kind,
        when: whenWords(lines, line.only ?? []),
        text: lineWords(cell, line),
        signal,
        wired: signal === null ? null : wiredAt(cell, signal),
        clearance_m: line.kind === "move" ? leastOf(line.retreats) : null,
      };
    }),
  };
}

function leastOf(retreats: readonly Retreat[]): number | null {
  const all = retreats.flatMap(({ moves }) => moves.flatMap(({ clearance }) => clearance.least ?? []));
  return all.length === 0 ? null : Math.min(...all);
}

/** "controller 3"; null when the point is not stated. */
function wiredAt(cell: Cell, signal: string): string | null {
  const { port, point } = cell.signals.get(signal) ?? {};
  if (port === undefined) return null;
  return point === undefined ? port : `${port} ${point}`;
}

/** Everything but what may be so, and figures that may differ between steps or parts. */
function shapeOf({ cause, lines, verdict, reasons, trained }: RecoveryProcedure): unknown {
  return [cause, verdict, reasons, trained, lines.map((line) => ({ ...line, ...figureless(line) }))];
}

function figureless(line: RecoveryLine): object {
  switch (line.kind) {
    case "await":
      return { limit: 0 };
    case "wait":
      return { time: 0 };
    case "move":
      return { retreats: line.retreats.map(({ from, moves }) => [from, moves.map(({ way, to }) => [way, to])]) };
    default:
      return {};
  }
}

/** The longest times and the least clearances of both. */
function merged(a: readonly RecoveryProcedure[], b: readonly RecoveryProcedure[]): RecoveryProcedure[] {
  return a.map((procedure, i) => ({
    ...procedure,
    possible: bothPossible(procedure.possible, b[i]!.possible),
    lines: procedure.lines.map((line, k) => mergedLine(line, b[i]!.lines[k]!)),
  }));
}

function bothPossible(
  a: RecoveryProcedure["possible"],
  b: RecoveryProcedure["possible"],
): RecoveryProcedure["possible"] {
  const names = [...new Set([...a, ...b].map(({ what }) => what))];
  return names.map((what) => {
    const same = [a, b].flatMap((list) => list.find((thing) => thing.what === what) ?? []);
    return { ...same[0]!, values: [...new Set(same.flatMap(({ values }) => values))].sort() };
  });
}

function mergedLine(a: RecoveryLine, b: RecoveryLine): RecoveryLine {
  if (a.kind === "wait" && b.kind === "wait") return { ...a, time: Math.max(a.time, b.time) };
  if (a.kind === "await" && b.kind === "await") return { ...a, limit: Math.max(a.limit, b.limit) };
  if (a.kind !== "move" || b.kind !== "move") return a;
  return {
    ...a,
    retreats: a.retreats.map((retreat, i) => ({
      ...retreat,
      moves: retreat.moves.map((move, k) => {
        const other = b.retreats[i]!.moves[k]!;
        const nearer =
          (other.clearance.least ?? Number.POSITIVE_INFINITY) < (move.clearance.least ?? Number.POSITIVE_INFINITY);
        return {
          ...move,
          longest: Math.max(move.longest, other.longest),
          clearance: {
            ...(nearer ? other.clearance : move.clearance),
            required: Math.max(move.clearance.required, other.clearance.required),
          },
        };
      }),
    })),
  };
}

/** Steps that follow each other in one list are told as a range. */
function rangesOf(ids: readonly string[]): string {
  const parts: { first: string; last: string; list: string; index: number }[] = [];
  for (const id of ids) {
    const match = /^(.*)\[(\d+)\]$/.exec(id);
    const list = match?.[1] ?? id;
    const index = match === null ? -2 : Number(match[2]);
    const last = parts.at(-1);
    if (last !== undefined && last.list === list && index === last.index + 1) {
      last.last = id;
      last.index = index;
    } else parts.push({ first: id, last: id, list, index });
  }
  return parts.map(({ first, last }) => (first === last ? first : `${first} to ${last}`)).join(", ");
}
