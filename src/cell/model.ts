/**
 * A cell as the rest of Millhand sees it: names resolved, units SI, frames placed in the world. Built only by the loader;
 * everything here is immutable and has been checked for names that do not exist. Maps keep the order of the file.
 */
import type { Pose } from "../math/pose.ts";
import type {
  Amperes,
  Kilograms,
  Metres,
  MetresPerSecond,
  MetresPerSecond2,
  NewtonMetres,
  Newtons,
  Radians,
  Seconds,
  Volts,
} from "../math/units.ts";
import type { ArmDescription, InertiaDescription } from "./arm-description.ts";
import type { Guarding } from "./guarding.ts";
import type { Handling } from "./handling.ts";
import type { SourcePlace } from "./issue.ts";
import type { Production } from "./production.ts";
import type { Rule } from "./rules.ts";
import type { PlacedShape, Shape } from "./shapes.ts";
import type { Routine } from "./steps.ts";

export type { Costs, Estimate, Production, ShiftHours } from "./production.ts";

/** Shortest and longest time that something takes, both included. */
export interface TimeRange {
  readonly min: Seconds;
  readonly max: Seconds;
}

export interface Frame {
  readonly name: string;
  /** Name of the parent frame; "world" has none. */
  readonly parent: string | undefined;
  readonly parentFromFrame: Pose;
  readonly worldFromFrame: Pose;
}

/** Points of the arm controller that signals can be wired to. */
export interface IoPort {
  readonly name: string;
  readonly digitalInputs: number;
  readonly digitalOutputs: number;
  readonly analogueInputs: number;
  readonly analogueOutputs: number;
  /** What its points stand and want, as far as stated. */
  readonly ratings?: PointRatings;
  /** A station read and written over Modbus TCP; undefined: points of the controller itself. */
  readonly remote?: RemoteStation;
}

/** Electrical facts of a port's digital points; undefined where not stated. */
export interface PointRatings {
  /** Type of the inputs after IEC 61131-2. */
  readonly inputType?: 1 | 2 | 3;
  /** Sinking inputs take current from what switches plus; sourcing ones give it to what switches minus. */
  readonly inputs?: "sinking" | "sourcing";
  /** Time for which an input has to hold before it counts. */
  readonly inputFilter?: Seconds;
  readonly outputs?: "sourcing" | "sinking" | "relay";
  /** Largest current of one output. */
  readonly outputCurrent?: Amperes;
  /** Outputs with consecutive points that share `groupCurrent`. */
  readonly groupSize?: number;
  readonly groupCurrent?: Amperes;
  /** Name of the supply that feeds its outputs and the sensors at its inputs. */
  readonly supply?: string;
}

export interface RemoteStation {
  /** Unit identifier, 0 to 255. */
  readonly unit: number;
  readonly host?: string;
  /** Longest time between two transfers. */
  readonly update?: Seconds;
  /** Address, from 0, of the first point of each kind; undefined where not stated. */
  readonly firstCoil?: number;
  readonly firstDiscreteInput?: number;
  readonly firstInputRegister?: number;
  readonly firstHoldingRegister?: number;
  /** Registers for signals of kind register, behind those of the analogue points. */
  readonly inputRegisters: number;
  readonly holdingRegisters: number;
}

/** A direct-current supply of signals and loads. */
export interface Supply {
  readonly name: string;
  readonly voltage?: Volts;
  readonly current?: Amperes;
}

export interface Controller {
  /** "controller", "flange" and any remote stations, by name. */
  readonly ports: ReadonlyMap<string, IoPort>;
  readonly supplies?: ReadonlyMap<string, Supply>;
  /** Time within which a changed input is seen. */
  readonly scan: Seconds;
}

export interface Signal {
  readonly name: string;
  /** Seen from the arm controller: an input is read by it, an output driven by it. */
  readonly direction: "input" | "output";
  readonly kind: "digital" | "analogue" | "register";
  /** Port of the controller and, when pinned, the point on it. */
  readonly port?: string;
  readonly point?: number;
  /** Contact of a switch or relay. */
  readonly contact?: "normally open" | "normally closed";
  /** Level of an output after power-up. */
  readonly initial: boolean;
  readonly current?: Amperes;
  /** What gives an input: another control's `output`, or a switch. */
  readonly sensor?: "contact" | "proximity switch" | "two-wire switch" | "push button" | "output";
  /** What an output drives: another control's `input`, or a load. */
  readonly load?: "relay" | "valve" | "lamp" | "input";
  /** PNP: what gives an input switches plus, what an output drives is switched by plus. NPN: by minus. */
  readonly polarity?: "PNP" | "NPN";
  /** Of an input when on, at its terminal; what an output's load is made for. */
  readonly voltage?: Volts;
  /** Current that what gives an input lets through when off. */
  readonly leakage?: Amperes;
  /** Least current that what gives an input needs when on. */
  readonly holdingCurrent?: Amperes;
  /** What takes up the energy of an inductive load. */
  readonly suppression?: "diode" | "varistor" | "RC" | "none";
  /** What stands between the arm controller and the other control. */
  readonly coupling?: "direct" | "relay" | "optocoupler";
  /** Time within which the receiver of an output sees a change, its input filter included. */
  readonly receiverScan?: Seconds;
  /** Both ways of the wire: the length of one, and the cross-section, m². */
  readonly cable?: { readonly length: Metres; readonly area: number };
  /** An input that a person works: how long after it is first awaited it is given, and how long it stays on (undefined: stays until awaited off). */
  readonly operator?: { readonly delay: TimeRange; readonly hold?: Seconds };
  /** The level of an input that does not change. */
  readonly constant?: boolean;
  readonly note?: string;
}

/** How a device is told to move. */
export type Command =
  /** One output: on moves to `on`, off moves to `off`. */
  | { readonly style: "level"; readonly signal: string; readonly on: string; readonly off: string }
  /** One output per position, held. */
  | { readonly style: "pair"; readonly signals: ReadonlyMap<string, string> }
  /** One output per position, a momentary pulse of at least `width`. */
  | { readonly style: "pulse"; readonly signals: ReadonlyMap<string, string>; readonly width: Seconds }
  /** One output; each momentary pulse of at least `width` moves to the next position in the list, the last to the first. */
  | { readonly style: "toggling pulse"; readonly signal: string; readonly width: Seconds }
  /** Not moved by the arm controller, only by a process of its machine. */
  | { readonly style: "none" };

/** A two- or multi-position actuator: door, chuck, vise, tailstock, air blow, light, gripper jaws. */
export interface Device {
  /** Qualified: "lathe.door", or the gripper's name for a gripper. */
  readonly name: string;
  readonly machine?: string;
  readonly positions: readonly string[];
  readonly start: string;
  readonly command: Command;
  /** Actuation time towards each position. */
  readonly time: ReadonlyMap<string, TimeRange>;
  /** Input that is on while the device is at the position. No entry: no feedback there. */
  readonly feedback: ReadonlyMap<string, string>;
  /** Zones that the device sweeps while it moves. */
  readonly sweeps: readonly string[];
  /** Shapes that move with the device: their owner frame at each position, in the world. */
  readonly shapes: readonly PlacedShape[];
  readonly worldFromShapes: ReadonlyMap<string, Pose>;
  /** The position in which a part in the device's holder is clamped; undefined: it holds no part. */
  readonly clamps?: string;
  /** Clamping force, N, when stated. */
  readonly force?: Newtons;
  readonly faults: readonly string[];
}

/** A timed process of a machine: a machining cycle, a measurement, a wash. */
export interface Process {
  /** Qualified: "lathe.turning". */
  readonly name: string;
  readonly machine: string;
  /** Output that starts it: on a rising edge ("pulse"), or while on ("level": dropping it before the end does not stop it). */
  readonly start: { readonly signal: string; readonly style: "pulse" | "level"; readonly width: Seconds };
  /** Default time; a part may state its own. */
  readonly time?: TimeRange;
  /** Input on when complete: "until start" stays on until the next start, "pulse" for `width`. */
  readonly done?: { readonly signal: string; readonly style: "until start" | "pulse"; readonly width: Seconds };
  /** Input on while it runs. */
  readonly running?: string;
  /** Device positions required at start; when not met the process does not start. */
  readonly needs: readonly { readonly device: string; readonly position: string }[];
  /** Devices that the machine itself moves before it starts timing, in order. */
  readonly before: readonly { readonly device: string; readonly position: string }[];
  /** Devices that the machine itself moves after it, before it reports completion, in order. */
  readonly after: readonly { readonly device: string; readonly position: string }[];
  /** The holder whose part it works on, and the stage that part then has. */
  readonly holder?: string;
  readonly makes?: string;
  /** True for the process that counts as cutting time (spindle idle is time when none of these runs on the machine). */
  readonly spindle: boolean;
}

export interface Machine {
  readonly name: string;
  readonly frame: string;
  readonly devices: readonly Device[];
  readonly processes: readonly Process[];
  readonly shapes: readonly PlacedShape[];
}

/** One place where a part can rest. Its frame is where the part's own frame is when the part rests there. */
export interface Place {
  readonly index: number;
  readonly worldFromPlace: Pose;
}

/** Something that can hold parts: a tray, a clamping device, a plain nest (gauge, turn-over stand). Grippers are not holders. */
export interface Holder {
  /** "raw-tray"; "lathe.chuck" for a device. */
  readonly name: string;
  readonly kind: "tray" | "device" | "nest";
  /** In serving order, at least one. */
  readonly places: readonly Place[];
  readonly columns?: number;
  /** Clamping device, when kind is "device". */
  readonly device?: string;
  /** What it holds before the routine starts. */
  readonly start: { readonly part: string; readonly stage: string } | undefined;
  /** Parts allowed here; empty: any. */
  readonly accepts: readonly string[];
  /**
   * Shapes on which a part in it rests, by the names of scene and machine shapes ("raw-table", "lathe.bed"; a device's name
   * stands for all its shapes): contact with them is meant while a part is brought or taken. A clamping device's own shapes go without saying.
   */
  readonly restsOn?: readonly string[];
}

export interface Stage {
  readonly name: string;
  /** In the part's frame. */
  readonly inertia: InertiaDescription;
}

/** Where a gripper takes the part. */
export interface Grip {
  readonly name: string;
  readonly partFromTcp: Pose;
  /** Distance between the jaws when they hold the part, m. */
  readonly width?: Metres;
  readonly friction?: number;
  /** Coefficient of friction once the part is wet with coolant or oil: in every stage but its first. */
  readonly oilyFriction?: number;
  readonly way: "friction" | "form";
  /** Whether the jaws hold it from outside, closing, or from inside, spreading. Undefined: outside, not stated. */
  readonly side?: "outside" | "inside";
}

export interface Part {
  readonly name: string;
  readonly material?: string;
  readonly shape?: Shape;
  readonly partFromShape: Pose;
  /** At least one, in the order a part goes through them; the first is "raw" unless named otherwise. */
  readonly stages: readonly Stage[];
  readonly grips: ReadonlyMap<string, Grip>;
  /** Time of a process for this part, by qualified process name. */
  readonly processTimes: ReadonlyMap<string, TimeRange>;
  /** Deviation, either way, of the widths it is gripped at and of the diameter that goes into a place. */
  readonly tolerance?: Metres;
}

export interface Gripper {
  readonly name: string;
  readonly flangeFromTcp: Pose;
  readonly jaws: number;
  /** How much the distance between the jaws changes from open to closed. */
  readonly stroke?: Metres;
  /** Distance between the jaws when they are as far apart as they go. */
  readonly opening?: Metres;
  /** Force per jaw, N. */
  readonly force?: Newtons;
  /** Largest moment of the load on one jaw, besides that of its own force. */
  readonly jawMoment?: NewtonMetres;
  /** From where the jaws are guided to the tool centre point. */
  readonly fingerLength?: Metres;
  /** Included angle of V-jaws. Undefined: flat. */
  readonly vAngle?: Radians;
  readonly friction?: number;
  readonly oilyFriction?: number;
  /** Positions are exactly "open" and "closed". */
  readonly device: Device;
  /** Input that tells that a part is between the jaws. */
  readonly partPresent?: string;
  readonly shapes: readonly PlacedShape[];
}

export interface Tool {
  readonly grippers: ReadonlyMap<string, Gripper>;
  /** Everything bolted to the flange, without parts, in the flange frame; undefined when masses are not stated. */
  readonly inertia?: InertiaDescription;
  readonly shapes: readonly PlacedShape[];
  /** Tool centre point of a tool without grippers. */
  readonly flangeFromTcp?: Pose;
}

export interface NamedPose {
  readonly name: string;
  readonly target:
    | { readonly kind: "joints"; readonly q: readonly number[] }
    | { readonly kind: "frame"; readonly worldFromPose: Pose };
  readonly branch: BranchChoice | undefined;
}

/** Which inverse-kinematic branch to take: the one nearest to joint values of another pose, or by the sides of the arm. */
export type BranchChoice =
  | { readonly near: string }
  | { readonly shoulder?: 1 | -1; readonly elbow?: 1 | -1; readonly wrist?: 1 | -1 };

export interface Zone {
  readonly name: string;
  readonly shapes: readonly PlacedShape[];
}

export interface Scene {
  /** Shapes fixed in the world, owner frame = world. */
  readonly shapes: readonly PlacedShape[];
  readonly zones: ReadonlyMap<string, Zone>;
  /** Where people stand: worldFromPlace by name. */
  readonly operatorPlaces?: ReadonlyMap<string, Pose>;
}

/** Defaults for motions, overridden in a step. */
export interface MotionDefaults {
  /** Share of the joint limits used by joint-interpolated motion, (0, 1]. */
  readonly jointSpeed: number;
  readonly lineSpeed: MetresPerSecond;
  readonly lineAcceleration: MetresPerSecond2;
  /** Sampling distance of checks along lines, m. */
  readonly lineStep: Metres;
  /** Least distance of bodies along every motion, m; below it a motion gets a finding. Undefined: 10 mm. */
  readonly clearance?: Metres;
  /** Seed of found routes, a whole number of at least 0. Undefined: 1. */
  readonly routeSeed?: number;
}

export interface Cell {
  readonly name: string;
  readonly arm: ArmDescription;
  readonly worldFromBase: Pose;
  /** Direction and size of gravity in the world, m/s². */
  readonly gravity: readonly [number, number, number];
  readonly controller: Controller;
  readonly tool: Tool;
  readonly parts: ReadonlyMap<string, Part>;
  readonly machines: ReadonlyMap<string, Machine>;
  readonly frames: ReadonlyMap<string, Frame>;
  readonly holders: ReadonlyMap<string, Holder>;
  readonly scene: Scene;
  readonly signals: ReadonlyMap<string, Signal>;
  readonly poses: ReadonlyMap<string, NamedPose>;
  readonly routines: ReadonlyMap<string, Routine>;
  /** The routine that production runs: "main". */
  readonly entry: string;
  /** Joint values from which the entry routine starts: the pose named "home". */
  readonly home: readonly number[];
  readonly motion: MotionDefaults;
  readonly production: Production | undefined;
  readonly guarding?: Guarding;
  readonly handling?: Handling;
  /** The user's own rules, proved with the interlocks. */
  readonly rules: readonly Rule[];
  /** Place in the source of a path such as ["routines", "load", 3]; the nearest enclosing place when the path itself is not written. */
  locate(path: readonly (string | number)[]): SourcePlace;
}

/** Mass of one piece, kg, used where only a mass matters. */
export const massOf = (stage: Stage): Kilograms => stage.inertia.mass;
