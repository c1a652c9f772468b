/** Codes of what the interlock proof finds, and the problems of a simulated run that are the same thing. */
import type { TroubleKind } from "../../proof/index.ts";

export interface InterlockCode {
  readonly code: `interlock-${TroubleKind}`;
  /** Codes of the cycle: where a simulated run shows one of them, the proof need not say it again. */
  readonly same: readonly string[];
}

const DWELLS = ["dwell-missing", "dwell-too-short"] as const;

const CODES: readonly InterlockCode[] = [
  { code: "interlock-part-dropped", same: ["part-dropped"] },
  { code: "interlock-freed-before-clamped", same: ["freed-before-clamped", ...DWELLS] },
  { code: "interlock-freed-unclamped", same: ["freed-unclamped", "freed-before-clamped", ...DWELLS] },
  { code: "interlock-unclamped-before-held", same: ["unclamped-before-held", ...DWELLS] },
  { code: "interlock-released-unheld", same: ["released-unheld"] },
  { code: "interlock-moved-while-both-hold", same: ["moved-while-both-hold", ...DWELLS] },
  { code: "interlock-moved-before-jaws", same: DWELLS },
  { code: "interlock-moved-before-clamp", same: ["moved-while-both-hold", ...DWELLS] },
  { code: "interlock-moved-from-inside", same: [] },
  { code: "interlock-held-by-two-grippers", same: ["hold-already-held"] },
  { code: "interlock-hold-nothing", same: ["hold-nothing"] },
  { code: "interlock-free-nothing", same: ["free-nothing"] },
  { code: "interlock-place-occupied", same: ["place-occupied"] },
  { code: "interlock-zone-shared", same: [] },
  { code: "interlock-arm-inside-at-start", same: [] },
  { code: "interlock-need-lost", same: ["need-lost"] },
  { code: "interlock-process-unclamped", same: ["process-unclamped"] },
  { code: "interlock-process-while-held", same: ["process-while-held"] },
  { code: "interlock-taken-in-process", same: [] },
  { code: "interlock-process-without-part", same: ["process-without-part"] },
  { code: "interlock-start-refused", same: ["process-needs-not-met"] },
  { code: "interlock-start-while-running", same: ["process-already-running"] },
  { code: "interlock-pulse-too-short", same: ["pulse-too-short"] },
  { code: "interlock-pulses-too-close", same: ["pulses-too-close"] },
  { code: "interlock-pulse-on-high-signal", same: ["pulse-on-high-signal"] },
  { code: "interlock-hold-already-closed", same: ["hold-already-closed"] },
  { code: "interlock-free-already-open", same: ["free-already-open"] },
  { code: "interlock-stale-input", same: ["stale-input"] },
  { code: "interlock-limit-passed", same: ["await-limit-passed", "await-never"] },
  { code: "interlock-gripper-not-commanded", same: ["gripper-not-commanded"] },
];

const byKind = new Map(CODES.map((entry) => [entry.code, entry]));

export const interlockCode = (kind: TroubleKind): InterlockCode =>
  byKind.get(`interlock-${kind}`) ?? { code: `interlock-${kind}`, same: [] };
