import { describe, expect, it } from "vitest";
import { MotionMemory, rememberingPlanner } from "./memory.ts";
import type { MotionOutcome, MotionRequest } from "./types.ts";

const request = (changes: Partial<MotionRequest> = {}): MotionRequest => ({
  arm: undefined as never,
  start: Float64Array.of(0, 0.1, 0.2),
  segments: [
    {
      kind: "line",
      to: new Float64Array(16).fill(0.25),
      blend: 0,
      speed: { fraction: 1, toolSpeed: 0.2, toolAcceleration: 1, constant: false },
    },
  ],
  flangeFromTcp: new Float64Array(16).fill(0.5),
  tool: { speed: 1, acceleration: 2, jerk: 3, turnSpeed: 4, turnAcceleration: 5 },
  payload: { mass: 1, centre: [0, 0, 0.1], inertia: [1, 1, 1, 0, 0, 0] },
  gravity: [0, 0, -9.81],
  lineStep: 0.002,
  ...changes,
});

function counting() {
  let planned = 0;
  const planner = {
    plan: (): MotionOutcome => ({ ok: false, failure: { kind: "torque", message: `${++planned}` } as never }),
  };
  return { planner, planned: () => planned };
}

describe("MotionMemory", () => {
  it("plans an equal request once, whoever asks", () => {
    const { planner, planned } = counting();
    const memory = new MotionMemory();
    const first = rememberingPlanner(planner, "arm", memory).plan(request());
    const second = rememberingPlanner(planner, "arm", memory).plan(request());
    expect(second).toBe(first);
    expect(planned()).toBe(1);
  });

  const segment = request().segments[0]!;
  it.each<[string, Partial<MotionRequest>]>([
    ["start", { start: Float64Array.of(0, 0.1, 0.2 + 1e-15) }],
    ["load", { payload: { mass: 1.0001, centre: [0, 0, 0.1], inertia: [1, 1, 1, 0, 0, 0] } }],
    ["no load", { payload: undefined }],
    ["tool", { flangeFromTcp: new Float64Array(16).fill(0.51) }],
    ["tool limits", { tool: { ...request().tool, turnAcceleration: 6 } }],
    ["gravity", { gravity: [0, 0, -9.8] }],
    ["line step", { lineStep: 0.001 }],
    ["speed", { segments: [{ ...segment, speed: { ...segment.speed, toolSpeed: 0.21 } }] }],
    ["constant speed", { segments: [{ ...segment, speed: { ...segment.speed, constant: true } }] }],
    ["blend", { segments: [{ ...segment, blend: 0.01 }] }],
    ["kind", { segments: [{ ...segment, kind: "arc", via: new Float64Array(16) }] as MotionRequest["segments"] }],
    ["one more segment", { segments: [segment, segment] }],
  ])("plans anew when the %s differs", (_, changes) => {
    const { planner, planned } = counting();
    const remembering = rememberingPlanner(planner, "arm", new MotionMemory());
    remembering.plan(request());
    remembering.plan(request(changes));
    expect(planned()).toBe(2);
  });

  it("tells arms apart", () => {
    const { planner, planned } = counting();
    const memory = new MotionMemory();
    rememberingPlanner(planner, "one", memory).plan(request());
    rememberingPlanner(planner, "other", memory).plan(request());
    expect(planned()).toBe(2);
  });

  it("forgets what was not asked for longest", () => {
    const { planner, planned } = counting();
    const memory = new MotionMemory(2);
    const remembering = rememberingPlanner(planner, "arm", memory);
    const [a, b, c] = [0.1, 0.2, 0.3].map((lineStep) => request({ lineStep }));
    remembering.plan(a!);
    remembering.plan(b!);
    remembering.plan(a!);
    remembering.plan(c!);
    expect(memory.size).toBe(2);
    remembering.plan(a!);
    expect(planned()).toBe(3);
    remembering.plan(b!);
    expect(planned()).toBe(4);
  });
});
