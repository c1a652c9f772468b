/** What a cell file says about people and safeguards. Read and checked for form and names; the guarding calculations use it. */
import type { Metres, MetresPerSecond, Seconds } from "../math/units.ts";

export interface Guarding {
  readonly people: ReadonlyMap<string, GuardedPerson>;
  readonly zones: ReadonlyMap<string, GuardedZone>;
  readonly stopping?: {
    readonly reactionTime?: Seconds;
    readonly stoppingTime?: Seconds;
    readonly stoppingDistance?: Metres;
  };
  readonly contactSurfaces: ReadonlyMap<string, ContactSurface>;
}

export interface GuardedPerson {
  /** Operator place of the scene. */
  readonly place?: string;
  readonly approachSpeed: MetresPerSecond;
  /** Body regions that may be touched. */
  readonly body: readonly string[];
}

export interface GuardedZone {
  /** Zone of the scene. */
  readonly zone: string;
  readonly by: "scanner" | "light curtain" | "gate" | "two-hand control" | "mat";
  /** What happens when someone is in it: a stop, or a reduced tool speed. */
  readonly response: "stop" | MetresPerSecond;
}

export interface ContactSurface {
  /** A gripper, or "flange". */
  readonly on: string;
  /** m². */
  readonly area: number;
}
