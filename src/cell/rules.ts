/** Rules that a cell must keep besides those that every cell must: stated by the user, proved with the interlocks. */
import type { Seconds } from "../math/units.ts";

/** How things stand, seen from outside: unlike a step's condition it may ask what the controller cannot know. */
export type RuleCondition =
  | { readonly kind: "signal"; readonly signal: string; readonly is: boolean }
  /** At a position, or on its way to one. */
  | { readonly kind: "device"; readonly device: string; readonly is: string | "moving" }
  | { readonly kind: "process"; readonly process: string; readonly is: "running" | "idle" }
  /** Arm, tool or held part are in the zone. */
  | { readonly kind: "zone"; readonly zone: string; readonly has: "arm" | "nothing" }
  | { readonly kind: "holder"; readonly holder: string; readonly has: "part" | "nothing" | { readonly stage: string } }
  | {
      readonly kind: "gripper";
      readonly gripper: string;
      readonly has: "part" | "nothing" | { readonly stage: string };
    }
  | { readonly kind: "all"; readonly of: readonly RuleCondition[] }
  | { readonly kind: "any"; readonly of: readonly RuleCondition[] }
  | { readonly kind: "not"; readonly of: RuleCondition };

export interface Rule {
  readonly name: string;
  readonly rule:
    | { readonly kind: "never"; readonly that: RuleCondition }
    | {
        readonly kind: "always followed by";
        readonly when: RuleCondition;
        readonly followedBy: RuleCondition;
        readonly within?: Seconds;
      };
}
