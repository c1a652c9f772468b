/** The read sections put together into one cell: frames placed in the world, names qualified. Everything has been checked. */
import { compose, identityPose, type Pose } from "../math/pose.ts";
import type { WrittenShape } from "./form/shapes.ts";
import type { Guarding } from "./guarding.ts";
import type { Handling } from "./handling.ts";
import type { SourcePlace } from "./issue.ts";
import type {
  Cell,
  Controller,
  Device,
  Frame,
  Holder,
  Machine,
  MotionDefaults,
  NamedPose,
  Part,
  Place,
  Process,
  Production,
  Signal,
  Tool,
  Zone,
} from "./model.ts";
import type { Rule } from "./rules.ts";
import type { ReadArm } from "./sections/arm.ts";
import type { ReadMachine } from "./sections/machines.ts";
import type { ReadPose } from "./sections/poses.ts";
import type { ReadHolder, ReadScene } from "./sections/scene.ts";
import type { PlacedShape } from "./shapes.ts";
import type { Routine, Step } from "./steps.ts";

export interface ReadCell {
  readonly name: string;
  readonly gravity: readonly [number, number, number];
  readonly arm: ReadArm;
  readonly controller: Controller;
  readonly tool: Tool;
  readonly parts: ReadonlyMap<string, Omit<Part, "name">>;
  readonly machines: ReadonlyMap<string, ReadMachine>;
  readonly scene: ReadScene;
  readonly signals: ReadonlyMap<string, Omit<Signal, "name">>;
  readonly poses: ReadonlyMap<string, ReadPose>;
  readonly routines: ReadonlyMap<string, readonly Step[]>;
  readonly motion: MotionDefaults;
  readonly production: Production | undefined;
  readonly guarding: Guarding | undefined;
  readonly handling: Handling | undefined;
  readonly rules: readonly Rule[];
  readonly locate: (path: readonly (string | number)[]) => SourcePlace;
}

export function putTogether(read: ReadCell): Cell {
  const frames = placeFrames(read.scene);
  const world = (frame: string | undefined): Pose => frames.get(frame ?? "world")!.worldFromFrame;
  const placed = (thing: { readonly in?: string; readonly pose: Pose }): Pose => compose(world(thing.in), thing.pose);
  const shapesIn = (shapes: ReadonlyMap<string, WrittenShape>): PlacedShape[] =>
    [...shapes].map(([name, shape]) => ({ name, ownerFromShape: placed(shape), shape: shape.shape }));

  const holders = new Map<string, Holder>();
  const places = (holder: ReadHolder): readonly Place[] => {
    const worldFromHolder = placed(holder);
    return holder.places.map((pose, index) => ({ index, worldFromPlace: compose(worldFromHolder, pose) }));
  };
  for (const [kind, group] of [
    ["tray", read.scene.trays],
    ["nest", read.scene.nests],
  ] as const)
    for (const [name, holder] of group)
      holders.set(name, {
        name,
        kind,
        places: places(holder),
        ...(holder.columns === undefined ? {} : { columns: holder.columns }),
        start: holder.start,
        accepts: holder.accepts,
        ...(holder.restsOn === undefined ? {} : { restsOn: holder.restsOn }),
      });

  const machines = new Map<string, Machine>();
  for (const [name, machine] of read.machines) {
    const worldFromMachine = world(machine.frame);
    const devices: Device[] = [];
    for (const [short, { device, machineFromShapes, place, loaded, accepts, restsOn }] of machine.devices) {
      const qualified = `${name}.${short}`;
      const worldFromShapes = new Map(
        [...machineFromShapes].map(([position, pose]) => [position, compose(worldFromMachine, pose)]),
      );
      devices.push({ ...device, name: qualified, machine: name, worldFromShapes });
      if (!place) continue;
      const worldFromPlace = compose(place.in === undefined ? worldFromMachine : world(place.in), place.pose);
      holders.set(qualified, {
        name: qualified,
        kind: "device",
        places: [{ index: 0, worldFromPlace }],
        device: qualified,
        start: loaded,
        accepts,
        ...(restsOn === undefined ? {} : { restsOn }),
      });
    }
    const processes: Process[] = [...machine.processes].map(([short, { process }]) => ({
      ...process,
      name: `${name}.${short}`,
      machine: name,
    }));
    machines.set(name, { name, frame: machine.frame, devices, processes, shapes: machine.shapes });
  }

  const poses = new Map<string, NamedPose>();
  for (const [name, pose] of read.poses)
    poses.set(name, {
      name,
      target:
        pose.target.kind === "joints"
          ? { kind: "joints", q: pose.target.q }
          : { kind: "frame", worldFromPose: placed(pose.target) },
      branch: pose.branch,
    });

  const home = poses.get("home")!.target;
  const { fence } = read.scene;
  const fencePanels = fence
    ? fence.panels.map((panel) => ({ ...panel, ownerFromShape: compose(world(fence.in), panel.ownerFromShape) }))
    : [];
  const zones = new Map<string, Zone>(
    [...read.scene.zones].map(([name, shapes]) => [name, { name, shapes: shapesIn(shapes) }]),
  );
  return {
    name: read.name,
    arm: read.arm.arm,
    worldFromBase: compose(world(read.arm.mount.frame), read.arm.mount.pose),
    gravity: read.gravity,
    controller: read.controller,
    tool: read.tool,
    parts: new Map([...read.parts].map(([name, part]) => [name, { ...part, name }])),
    machines,
    frames,
    holders,
    scene: {
      shapes: [...shapesIn(read.scene.shapes), ...fencePanels],
      zones,
      operatorPlaces: new Map([...read.scene.operatorPlaces].map(([name, place]) => [name, placed(place)])),
    },
    signals: new Map([...read.signals].map(([name, signal]) => [name, { ...signal, name }])),
    poses,
    routines: new Map<string, Routine>([...read.routines].map(([name, steps]) => [name, { name, steps }])),
    entry: "main",
    home: home.kind === "joints" ? home.q : [],
    motion: read.motion,
    production: read.production,
    ...(read.guarding ? { guarding: read.guarding } : {}),
    ...(read.handling ? { handling: read.handling } : {}),
    rules: read.rules,
    locate: read.locate,
  };
}

/** All frames with their place in the world, world first, then in the order of the file. The tree has no rounds. */
function placeFrames(scene: ReadScene): ReadonlyMap<string, Frame> {
  const done = new Map<string, Frame>([
    ["world", { name: "world", parent: undefined, parentFromFrame: identityPose(), worldFromFrame: identityPose() }],
  ]);
  for (const name of scene.frames.keys()) {
    const chain: string[] = [];
    for (let at = name; !done.has(at); at = scene.frames.get(at)!.in ?? "world") chain.push(at);
    for (const next of chain.reverse()) {
      const { in: parent = "world", pose } = scene.frames.get(next)!;
      done.set(next, {
        name: next,
        parent,
        parentFromFrame: pose,
        worldFromFrame: compose(done.get(parent)!.worldFromFrame, pose),
      });
    }
  }
  return new Map([...(["world"] as string[]), ...scene.frames.keys()].map((name) => [name, done.get(name)!]));
}
