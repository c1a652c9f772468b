/** What a device's movement means for parts, zones and processes: jaws take and leave parts, clamps hold and release them. */
import type { DeviceState, GripperState, Ground, Spot } from "./ground.ts";
import { type Action, both, either } from "./network-writer.ts";

/** Stages of instants after a device has begun to leave a position. */
export function afterLeaving(
  ground: Ground,
  state: DeviceState,
  from: string,
  byMachine: boolean,
): readonly (readonly Action[])[] {
  const { device } = state;
  const stages: (readonly Action[])[] = [];
  for (const zone of device.sweeps) stages.push(entersZone(ground, device.name, zone));
  if (!byMachine) for (const stage of needsLost(ground, device.name, from)) stages.push(stage);
  const gripper = gripperOf(ground, device.name);
  if (gripper !== undefined && from === "closed") stages.push(...jawsOpen(ground, gripper));
  for (const spot of ground.spots)
    if (spot.clamp?.name === device.name && from === device.clamps) stages.push(clampLeaves(ground, spot, byMachine));
  const feedback = device.feedback.get(from);
  if (feedback !== undefined) stages.push(ground.setInput(feedback, false));
  return stages;
}

/** Stages of instants after a device has reached a position. */
export function uponArriving(ground: Ground, state: DeviceState, at: string): readonly (readonly Action[])[] {
  const { device } = state;
  const stages: (readonly Action[])[] = [];
  const gripper = gripperOf(ground, device.name);
  if (gripper !== undefined && at === "closed") stages.push(...jawsClosed(ground, gripper));
  for (const spot of ground.spots)
    if (spot.clamp?.name === device.name)
      stages.push(at === device.clamps ? clampCloses(ground, spot) : clampIsOpen(ground, spot));
  const feedback = device.feedback.get(at);
  if (feedback !== undefined) stages.push(ground.setInput(feedback, true));
  return stages;
}

const gripperOf = (ground: Ground, device: string): GripperState | undefined =>
  [...ground.grippers.values()].find(({ gripper }) => gripper.device.name === device);

/** Alternatives that exclude each other: the first whose condition holds is taken. */
function firstThat(alternatives: readonly (readonly [condition: string, action: Action])[]): readonly Action[] {
  const before: string[] = [];
  return alternatives.map(([condition, action]) => {
    const guard = both(condition, ...before.map((b) => `not (${b})`), action.guard)!;
    before.push(condition);
    return { ...action, guard };
  });
}

function entersZone(ground: Ground, device: string, zone: string): readonly Action[] {
  const inside = `${ground.zones.get(zone)!} = 1`;
  return firstThat([
    [inside, ground.meets({ kind: "zone-shared", subject: zone, other: device })],
    ["true", {}],
  ]);
}

function needsLost(ground: Ground, device: string, from: string): readonly (readonly Action[])[] {
  return ground.processes
    .filter(({ needs }) => needs.some((need) => need.device === device && need.position === from))
    .map((process) =>
      firstThat([
        [
          `${ground.running.get(process.name)!} = 1`,
          ground.meets({ kind: "need-lost", subject: process.name, other: device }),
        ],
        ["true", {}],
      ]),
    );
}

/** The same alternatives under one more condition. */
const within = (condition: string, actions: readonly Action[]): readonly Action[] =>
  actions.map((action) => ({ ...action, guard: both(condition, action.guard)! }));

function jawsOpen(ground: Ground, { gripper, has, shares, holdFrom, freeInto }: GripperState): (readonly Action[])[] {
  const subject = gripper.name;
  const gone = [`${has} := 0`, `${shares} := 0`, `${freeInto} := 0`, `${holdFrom} := 0`];
  const leftIn = (spot: Spot): readonly Action[] => {
    const { holder, clamp: device } = spot;
    const where = { subject, other: holder.name };
    const isOutfeed = ground.feeds.outfeeds.has(holder.name);
    const leave: Action = {
      update: isOutfeed ? gone : [`${spot.has} := ${has}`, ...gone],
      events: [{ kind: "part", holder: subject, what: "let go" }],
    };
    const alternatives: (readonly [string, Action])[] = [];
    if (!isOutfeed)
      alternatives.push([
        both(`${spot.has} > 0`, `${shares} != ${spot.number}`)!,
        ground.meets({ kind: "place-occupied", ...where }, leave),
      ]);
    if (device !== undefined && !spot.rests) {
      const clamp = ground.device(device.name);
      const clamps = device.positions.indexOf(device.clamps!);
      alternatives.push(
        [
          both(`${clamp.at} != ${clamps}`, `${clamp.target} = ${clamps}`)!,
          ground.meets({ kind: "freed-before-clamped", ...where }, leave),
        ],
        [`${clamp.at} != ${clamps}`, ground.meets({ kind: "freed-unclamped", ...where }, leave)],
      );
    }
    return firstThat([...alternatives, ["true", leave]]);
  };
  const alternatives: Action[] = [
    { guard: both(`${has} = 0`, `${freeInto} = 0`)!, update: gone },
    {
      ...ground.meets({ kind: "free-nothing", subject }, { update: gone }),
      guard: both(`${has} = 0`, `${freeInto} > 0`)!,
    },
    {
      ...ground.meets({ kind: "part-dropped", subject }, { update: gone }),
      guard: both(`${has} > 0`, `${freeInto} = 0`)!,
    },
    ...ground.spots.flatMap((spot) => within(both(`${has} > 0`, `${freeInto} = ${spot.number}`)!, leftIn(spot))),
  ];
  const present = gripper.partPresent;
  return [alternatives, ...(present === undefined ? [] : [ground.setInput(present, false)])];
}

function jawsClosed(ground: Ground, { gripper, has, shares, holdFrom }: GripperState): (readonly Action[])[] {
  const subject = gripper.name;
  const others = [...ground.grippers.values()].filter((other) => other.gripper.name !== gripper.name);
  const takenFrom = (spot: Spot): readonly Action[] => {
    const { holder, clamp: device } = spot;
    const took = [`${has} := ${spot.has}`, `${holdFrom} := 0`];
    const events = [{ kind: "part", holder: subject, what: "held" }] as const;
    const alternatives: (readonly [string, Action])[] = [
      [
        `${spot.has} = 0`,
        ground.meets({ kind: "hold-nothing", subject, other: holder.name }, { update: [`${holdFrom} := 0`] }),
      ],
    ];
    for (const process of ground.processes)
      if (process.holder === holder.name)
        alternatives.push([
          `${ground.working.get(process.name)!} = 1`,
          ground.meets({ kind: "taken-in-process", subject: process.name, other: holder.name }),
        ]);
    if (others.length > 0)
      alternatives.push([
        either(others.map((other) => `${other.shares} = ${spot.number}`)),
        ground.meets({ kind: "held-by-two-grippers", subject, other: holder.name }),
      ]);
    if (device !== undefined) {
      const clamp = ground.device(device.name);
      const clamps = device.positions.indexOf(device.clamps!);
      alternatives.push([
        `${clamp.at} = ${clamps} or ${clamp.at} = ${clamp.moving}`,
        { update: [...took, `${shares} := ${spot.number}`], events },
      ]);
    }
    const left = ground.feeds.infeeds.has(holder.name) ? spot.start : 0;
    return firstThat([...alternatives, ["true", { update: [...took, `${spot.has} := ${left}`], events }]]);
  };
  const alternatives: Action[] = [
    { guard: `${holdFrom} = 0` },
    ...ground.spots.flatMap((spot) => within(`${holdFrom} = ${spot.number}`, takenFrom(spot))),
  ];
  const present = gripper.partPresent;
  const seen: readonly Action[] =
    present === undefined ? [] : [...within(`${has} > 0`, ground.setInput(present, true)), { guard: `${has} = 0` }];
  return [alternatives, seen];
}

/** The clamping device begins to leave its clamping position. */
function clampLeaves(ground: Ground, spot: Spot, byMachine: boolean): readonly Action[] {
  const grippers = [...ground.grippers.values()];
  const where = { subject: spot.holder.name };
  const alternatives: (readonly [string, Action])[] = [
    [`${spot.has} = 0`, {}],
    [either(grippers.map(({ shares }) => `${shares} = ${spot.number}`)), {}],
  ];
  if (!spot.rests) {
    for (const { gripper, holdFrom } of grippers)
      alternatives.push([
        `${holdFrom} = ${spot.number}`,
        ground.meets({ kind: "unclamped-before-held", ...where, other: gripper.name }),
      ]);
    if (!byMachine) alternatives.push(["true", ground.meets({ kind: "released-unheld", ...where })]);
  }
  alternatives.push(["true", {}]);
  return firstThat(alternatives);
}

/** It has clamped: a part that the arm holds there is now held by both. */
function clampCloses(ground: Ground, spot: Spot): readonly Action[] {
  const grippers = [...ground.grippers.values()];
  return firstThat([
    [`${spot.has} > 0`, {}],
    ...grippers.map(({ has, shares, device }, i): readonly [string, Action] => [
      both(
        `${ground.armSpot} = ${spot.number}`,
        `${ground.armExact} = 1`,
        `${ground.armGripper} = ${i}`,
        `${has} > 0`,
        ground.at(device, "closed"),
      )!,
      {
        update: [`${spot.has} := ${has}`, `${shares} := ${spot.number}`],
        events: [{ kind: "part", holder: spot.holder.name, what: "clamped" }],
      },
    ]),
    ["true", {}],
  ]);
}

/** It has reached another position: a part that a gripper holds too is now the gripper's alone. */
function clampIsOpen(ground: Ground, spot: Spot): readonly Action[] {
  return firstThat([
    ...[...ground.grippers.values()].map(({ shares }): readonly [string, Action] => [
      `${shares} = ${spot.number}`,
      {
        update: [`${shares} := 0`, `${spot.has} := 0`],
        events: [{ kind: "part", holder: spot.holder.name, what: "released" }],
      },
    ]),
    ["true", {}],
  ]);
}
