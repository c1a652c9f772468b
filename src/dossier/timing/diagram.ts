/** The last seconds of a counterexample as a timing diagram: which lanes are worth drawing, over which stretch of time. */
import type { RunReport } from "../../check/index.ts";
import { brokenScale, type TimeScale } from "../time-scale.ts";

type RunLane = RunReport["lanes"][number];

export interface DiagramSpan {
  /** Inside the window, s from power-up. */
  readonly from: number;
  readonly to: number;
  readonly text: string;
  /** How it is drawn: on its way, at rest or without a part, or something to see. */
  readonly look: "moving" | "plain" | "filled";
}

export interface DiagramLane {
  /** As it is written beside it: "lathe.door", "part in lathe.chuck", "zone doorway". */
  readonly name: string;
  /** Device, gripper, holder, process, zone or signal. */
  readonly of: string;
  readonly kind: RunLane["kind"];
  /** Signals are waves, all else bars. */
  readonly form: "bar" | "wave";
  readonly spans: readonly DiagramSpan[];
}

export interface DiagramGroup {
  readonly title: string;
  readonly lanes: readonly DiagramLane[];
}

export interface TimingDiagram {
  /** s from power-up: where it begins, the moment in which it goes wrong, and how far the last state is drawn on. */
  readonly from: number;
  readonly to: number;
  readonly end: number;
  readonly scale: TimeScale;
  /** The arm's steps in the window, in order; the spans of its lane are numbered by them, from 1. */
  readonly steps: readonly { readonly id: string; readonly at: number }[];
  readonly groups: readonly DiagramGroup[];
  /** When the supposed fault happens and the routine goes on after a stop; may be before `from`. */
  readonly marks: readonly { readonly at: number; readonly text: string }[];
}

/** Steps shown before the moment in which it goes wrong. */
const STEPS = 9;
/** Stretches of time up to this are drawn without a break, s. */
const WHOLE = 20;
/** Share of the time shown by which the last state is drawn on, so that what has just changed is seen. */
const TAIL = 0.05;

const GROUPS: readonly { readonly title: string; readonly kinds: readonly RunLane["kind"][] }[] = [
  { title: "steps", kinds: ["arm"] },
  { title: "parts", kinds: ["gripper", "holder"] },
  { title: "devices", kinds: ["device", "process"] },
  { title: "zones", kinds: ["zone"] },
  { title: "outputs", kinds: ["output"] },
  { title: "inputs", kinds: ["input"] },
];

/** @param about names of lanes that are shown even when nothing changes in them: those that the sentence speaks of */
export function timingDiagram(run: RunReport, about: readonly (string | null)[] = []): TimingDiagram {
  const to = run.duration_s;
  const arm = run.lanes.find(({ kind }) => kind === "arm");
  // Steps that take no time are not seen, but for the last.
  const all = (arm?.spans ?? []).filter(({ from_s, to_s }, i, { length }) => to_s > from_s || i === length - 1);
  const first = all[Math.max(0, all.length - STEPS)]?.from_s ?? 0;
  // Something is seen even where it goes wrong at once.
  const from = Math.max(0, Math.min(first, to - 1));
  const end = to + Math.max(0.2, TAIL * (to - from));
  const steps = all
    .filter((span) => span.to_s > from || span.to_s === to)
    .map(({ text, from_s }) => ({ id: text, at: Math.max(from, from_s) }));
  const shown = run.lanes.map((lane) => laneIn(lane.kind === "arm" ? { ...lane, spans: all } : lane, from, to, end));
  const groups = GROUPS.flatMap(({ title, kinds }) => {
    const lanes = shown.filter(
      (lane) =>
        kinds.includes(lane.kind) &&
        (lane.kind === "arm" || lane.spans.length > 1 || isTold(lane) || about.includes(lane.of)),
    );
    return lanes.length === 0 ? [] : [{ title, lanes }];
  });
  const changes = groups.flatMap(({ lanes }) => lanes.flatMap(({ spans }) => spans.flatMap((s) => [s.from, s.to])));
  const marks = run.events.filter(({ text }) => MARKED.test(text)).map(({ at_s, text }) => ({ at: at_s, text }));
  // A few seconds are drawn whole: what moves for long in them is to the point.
  const whole = end - from > WHOLE ? [] : Array.from({ length: 9 }, (_, k) => from + ((k + 1) / 10) * (end - from));
  return {
    from,
    to,
    end,
    scale: brokenScale(from, end, [to, ...changes, ...marks.map(({ at }) => at), ...whole]),
    steps,
    groups,
    marks,
  };
}

const MARKED = /^(the fault happens|restart)/;

/** A part that is held, an arm in a zone or a running process are worth a lane though nothing changes. */
function isTold({ kind, spans }: DiagramLane): boolean {
  const looks = spans.some(({ look }) => look !== "plain");
  return looks && (kind === "gripper" || kind === "zone" || kind === "process" || kind === "device");
}

function laneIn({ kind, name, spans }: RunLane, from: number, to: number, end: number): DiagramLane {
  return {
    name: kind === "gripper" || kind === "holder" ? `part in ${name}` : kind === "zone" ? `zone ${name}` : name,
    of: name,
    kind,
    form: kind === "output" || kind === "input" ? "wave" : "bar",
    spans: spans
      .filter((span) => span.to_s > from || span.from_s >= to)
      .map((span, i, { length }) => ({
        from: Math.max(from, span.from_s),
        to: i === length - 1 ? end : span.to_s,
        text: span.text,
        look: lookOf(kind, span.text),
      })),
  };
}

function lookOf(kind: RunLane["kind"], text: string): DiagramSpan["look"] {
  if (text === "moving") return "moving";
  if (kind === "arm") return "filled";
  if (kind === "device") return "plain";
  return text === "nothing" || text === "idle" || text === "clear" || text === "off" ? "plain" : "filled";
}
