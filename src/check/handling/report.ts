/** What is told of holding, carrying and seating parts: in `check --json` and by `millhand size`. */

/** A moment of a run. */
export interface MomentReport {
  readonly step: string;
  /** Into the step. */
  readonly time_s: number;
  readonly variant: string;
}

/** The load on a grip at its worst moment. */
export interface GripLoadReport extends MomentReport {
  /** Force per jaw needed, safety factor included; null when the friction is not stated. */
  readonly needed_N: number | null;
  /** Force that the jaws have to give the part, gripper axes: z out of the gripper, x from jaw to jaw. */
  readonly load_N: readonly [number, number, number];
  /** Acceleration of the part's centre of mass, without gravity. */
  readonly acceleration_mps2: number;
  readonly stage: string;
  /** What the force is set by. */
  readonly decides: "friction" | "load along the jaws" | null;
}

export interface StageGripReport {
  readonly stage: string;
  readonly mass_kg: number;
  /** Null: not stated, or not used by form fit. */
  readonly friction: number | null;
  /** Where it was stated: "grip, oily" …; "not stated". */
  readonly frictionFrom: string;
  readonly motion_N: number | null;
  readonly stop_N: number | null;
}

export interface GripSizing {
  /** "two jaws, friction"; null when the friction is not stated. */
  readonly method: string | null;
  readonly formula: string | null;
  readonly safetyFactor: number;
  /** Null: taken by default. */
  readonly safetyFactorFrom: "stated" | "default";
  /** One per stage that was carried, in order. */
  readonly stages: readonly StageGripReport[];
  readonly motion: GripLoadReport;
  /** A stop at the worst moment; null when neither joint accelerations nor a stopping time are stated. */
  readonly stop: (GripLoadReport & { readonly by: string }) | null;
  /** Available over the larger of both needs; null when one is not known. */
  readonly margin: number | null;
  /** What the larger need comes from. */
  readonly worst: "motion" | "stop" | null;
  /** Largest moment of the load on one jaw, motions and stops. */
  readonly jawMoment: MomentReport & {
    readonly value_Nm: number;
    readonly rated_Nm: number | null;
    /** Part of it that turns the part about the line from jaw to jaw, both jaws together. */
    readonly turning_Nm: number;
    /** Distance of the centre of mass from where the jaws are guided, or from the tool centre point when that is not stated. */
    readonly lever_m: number;
    readonly leverFrom: "jaw guides" | "tool centre point";
  };
  /** Null when width, opening or stroke is not stated. */
  readonly opening: {
    readonly width_m: number;
    readonly tolerance_m: number;
    readonly side: "outside" | "inside";
    readonly release_m: number;
    readonly required_m: number;
    readonly hold_m: number;
  } | null;
}

/** A load at the flange: nothing but the tool, or the tool with what the grippers hold. */
export interface LoadCaseReport {
  /** "empty", "gripper short raw". */
  readonly load: string;
  readonly mass_kg: number;
  readonly centre_m: readonly [number, number, number];
  /** About the flange centre, largest principal direction not sought: about its x, y, z. */
  readonly inertia_kgm2: readonly [number, number, number];
  /** Static moment at the flange, and what the rated load allows (rated mass at its rated distance); null: not stated. */
  readonly moment_Nm: number;
  readonly ratedMoment_Nm: number | null;
  /** Base to wrist; empty when torques are not known. */
  readonly joints: readonly JointLoadReport[];
}

export interface JointLoadReport extends MomentReport {
  readonly joint: string;
  /** Largest torque in size (N for a slide), its limit (null: not stated), and what is left of it as a share. */
  readonly torque_Nm: number;
  readonly limit_Nm: number | null;
  readonly margin: number | null;
}

export interface StackCaseReport {
  readonly lateral_m: number;
  readonly tilt_rad: number;
  readonly enters: boolean;
}

export interface FitReport {
  readonly bore_m: number;
  readonly part_m: number;
  readonly partFrom: "fit" | "shape";
  readonly clearanceRatio: number;
  /** Lateral error and tilt that still enter, diameters as drawn. */
  readonly lateral_m: number;
  readonly tilt_rad: number;
  readonly wedgingTilt_rad: number | null;
  readonly wedgingDepth_m: number | null;
  /** Tilt at which it touches on both sides at its depth; null: depth not stated, or never. */
  readonly twoPointTilt_rad: number | null;
  /** Largest deviation of position and tilt from each source, and its share in the variance. */
  readonly deviations: readonly {
    readonly name: string;
    readonly within_m: number;
    readonly tilt_rad: number;
    readonly distribution: string;
    readonly share: number;
  }[];
  readonly missing: readonly string[];
  readonly worstCase: StackCaseReport;
  readonly rootSumSquare: StackCaseReport;
  readonly trial: {
    readonly insertions: number;
    readonly seed: number;
    readonly enters: number;
    readonly clean: number;
    readonly mayWedge: number | null;
    readonly standardError: number;
  };
}

export interface PressReport {
  readonly step: string;
  readonly force_N: number;
  readonly time_s: number;
  readonly speed_mps: number;
  readonly expect_m: number;
  readonly travel_m: number;
  /** From the step's start to the contact where it is expected, and to the end of the travel. */
  readonly contact_s: number;
  readonly longest_s: number;
  /** Angle between the push and the way into the place; null: not into a place. */
  readonly tilt_rad: number | null;
  /** Distance of the line of the push from the place's axis; null: not into a place. */
  readonly offset_m: number | null;
  /** Largest force that the joints can give there; null: torques not known. */
  readonly armLimit_N: number | null;
  readonly armJoint: string | null;
  /** Force at which the part slips in the jaws; null: friction or force not stated; held by form: null. */
  readonly slip_N: number | null;
  readonly pushLimit_N: number | null;
  /** Share of the band within which the part slides that the push uses; above 1 it jams. Null: no fit with friction and depth. */
  readonly jamming: number | null;
  readonly jammingBy: string | null;
  /** Sum of the deviations along the way in, worst case. */
  readonly along_m: number;
}

/** A place that parts are put into. */
export interface SeatingReport {
  readonly holder: string;
  readonly part: string;
  readonly gripper: string;
  /** The step that opens the gripper. */
  readonly step: string;
  readonly press: PressReport | null;
  /** Null: no fit is stated, or the part's diameter is not known. */
  readonly fit: FitReport | null;
  readonly cautions: readonly string[];
}
