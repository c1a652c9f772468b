/** A run that shows a trouble, as people read it: who did what when, and how things stood. */
import type { Seconds } from "../../math/units.ts";
import type { TraceStep } from "../automata/trace.ts";
import type { Lane } from "./ground.ts";
import type { TendingEvent } from "./network-writer.ts";
import type { Translation } from "./translate.ts";

/** A stretch of time in which one thing stays as it is. */
export interface RunSpan {
  readonly from: Seconds;
  readonly to: Seconds;
  /** "open", "moving", "on", "raw", or the step's id in the arm's lane. */
  readonly text: string;
}

export interface RunLane {
  readonly kind: "arm" | Lane["kind"];
  readonly name: string;
  readonly spans: readonly RunSpan[];
}

export interface RunEvent {
  readonly at: Seconds;
  readonly event: TendingEvent;
}

/** From power-up to the moment in which it goes wrong. */
export interface TendingRun {
  readonly duration: Seconds;
  /** Beginning of the last pass: what comes before repeats or is not to the point. */
  readonly from: Seconds;
  readonly lanes: readonly RunLane[];
  readonly events: readonly RunEvent[];
}

const SECONDS = 1000;

export function runOf(translation: Translation, trace: readonly TraceStep[]): TendingRun {
  const duration = (trace.at(-1)?.at ?? 0) / SECONDS;
  const events = trace.flatMap(({ at, moves }) =>
    moves.flatMap(({ label }) =>
      (label === undefined ? [] : (translation.events.get(label) ?? [])).map((event) => ({ at: at / SECONDS, event })),
    ),
  );
  // A step that runs into trouble before it has begun is shown all the same.
  const last = events.at(-1)?.event;
  const stepId = last?.kind === "trouble" ? translation.troubles[last.trouble - 1]?.stepId : undefined;
  if (stepId !== undefined && begunLast(events) !== stepId)
    events.push({ at: duration, event: { kind: "step", stepId, what: "begins" } });
  const passes = events.filter(({ event }) => event.kind === "pass");
  return {
    duration,
    from: passes.at(-1)?.at ?? 0,
    lanes: [
      { kind: "arm", name: "arm", spans: stepSpans(events, duration) },
      ...translation.lanes.map((lane) => laneOf(lane, trace, duration)),
    ],
    events,
  };
}

/** Steps one after the other: each from its beginning to that of the next. */
function stepSpans(events: readonly RunEvent[], duration: number): RunSpan[] {
  const begins = events.flatMap(({ at, event }) =>
    event.kind === "step" && event.what === "begins" ? [{ at, stepId: event.stepId }] : [],
  );
  return begins.map(({ at, stepId }, i) => ({ from: at, to: begins[i + 1]?.at ?? duration, text: stepId }));
}

function laneOf(lane: Lane, trace: readonly TraceStep[], duration: number): RunLane {
  const spans: { from: number; to: number; text: string }[] = [];
  for (const { at, variables } of trace) {
    const text = lane.words[variables[lane.variable] as number] ?? "";
    const time = at / SECONDS;
    const last = spans.at(-1);
    if (last?.text === text) continue;
    if (last !== undefined) last.to = time;
    // What lasts no time is not seen.
    if (last !== undefined && last.from === time) spans.pop();
    if (spans.at(-1)?.text === text) spans.at(-1)!.to = duration;
    else spans.push({ from: time, to: duration, text });
  }
  return { kind: lane.kind, name: lane.name, spans };
}

/** The step under way when a run ends. */
export const lastStep = ({ events }: TendingRun): string | undefined => begunLast(events);

function begunLast(events: readonly RunEvent[]): string | undefined {
  for (let i = events.length - 1; i >= 0; i--) {
    const { event } = events[i]!;
    if (event.kind === "step" && event.what === "begins") return event.stepId;
  }
  return undefined;
}
