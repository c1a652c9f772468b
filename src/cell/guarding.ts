/** What a cell file says about people and safeguards. Read and checked for form and names; the guarding calculations use it. */
import type { Metres, MetresPerSecond, Seconds } from "../math/units.ts";

/** Regions of the body model of ISO/TS 15066:2016, annex A. */
export const BODY_REGIONS = [
  "skull",
  "face",
  "neck",
  "shoulder",
  "chest",
  "abdomen",
  "pelvis",
  "upper arm",
  "lower arm",
  "hand",
  "thigh",
  "lower leg",
] as const;
export type BodyRegionName = (typeof BODY_REGIONS)[number];

export type PerformanceLevel = "a" | "b" | "c" | "d" | "e";
/** Categories of ISO 13849-1. */
export type CategoryName = "B" | "1" | "2" | "3" | "4";

export interface Guarding {
  readonly people: ReadonlyMap<string, GuardedPerson>;
  readonly zones: ReadonlyMap<string, GuardedZone>;
  readonly stopping?: {
    readonly reactionTime?: Seconds;
    readonly stoppingTime?: Seconds;
    readonly stoppingDistance?: Metres;
  };
  readonly contactSurfaces: ReadonlyMap<string, ContactSurface>;
  /** Of speed and separation monitoring; what is not stated is not known. */
  readonly monitoring?: {
    readonly intrusion?: Metres;
    readonly sensorUncertainty?: Metres;
    readonly armUncertainty?: Metres;
  };
  readonly safetyFunctions?: ReadonlyMap<string, SafetyFunction>;
  /** What the user says about entries of the hazard register, by the name of the entry. */
  readonly hazards?: ReadonlyMap<string, HazardJudgement>;
}

export interface GuardedPerson {
  /** Operator place of the scene. */
  readonly place?: string;
  readonly approachSpeed: MetresPerSecond;
  /** Body regions that may be touched. */
  readonly body: readonly BodyRegionName[];
  /** How often the person comes to the arm or machine: mean time between. */
  readonly every?: Seconds;
}

export interface GuardedZone {
  /** Zone of the scene. */
  readonly zone: string;
  readonly by: "scanner" | "light curtain" | "gate" | "two-hand control" | "mat";
  /** What happens when someone is in it: a stop, or a reduced tool speed. */
  readonly response: "stop" | MetresPerSecond;
  /** Smallest body that is always detected, or single beams. */
  readonly resolution?: Metres | "single beams";
  /** Of a field or mat above the floor that people stand on. */
  readonly height?: Metres;
  /** Across the way of approach, or along it. */
  readonly field?: "vertical" | "horizontal";
}

export interface ContactSurface {
  /** A gripper, or "flange". */
  readonly on: string;
  /** m². */
  readonly area: number;
}

/** One part of a channel: its MTTFd, or its B10d with how often it works. */
export interface SafetyPart {
  readonly mttfdYears?: number;
  readonly b10dCycles?: number;
  /** Mean time between two operations. */
  readonly every?: Seconds;
  /** Diagnostic coverage, 0 to 1; undefined: not stated. */
  readonly coverage?: number;
}

export interface SafetyFunction {
  /** Entries of the hazard register. */
  readonly covers: readonly string[];
  readonly required?: PerformanceLevel;
  readonly category?: CategoryName;
  readonly channels: readonly (readonly SafetyPart[])[];
  /** Score against failures of common cause, 0 to 100. */
  readonly commonCause?: number;
  readonly daysPerYear?: number;
  readonly hoursPerDay?: number;
}

export interface HazardJudgement {
  readonly severity?: 1 | 2;
  readonly exposure?: 1 | 2;
  readonly avoidance?: 1 | 2;
  readonly reason?: string;
  /** Measures that the cell file does not show. */
  readonly measures: readonly string[];
}
