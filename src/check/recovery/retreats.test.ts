/** Ways home in the small lathe cell: their legs by hand, their clearance against states sampled along them. */
import { beforeAll, describe, expect, it } from "vitest";
import { mulberry32 } from "../../../test/arms/random.ts";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { buildArm } from "../../arm/index.ts";
import { type Cell, loadCell } from "../../cell/index.ts";
import { createSweptScene } from "../../clearance/index.ts";
import { whereaboutsOf } from "../../cycle/index.ts";
import type { StepRetreats } from "../../proof/index.ts";
import { createSceneBuilder } from "../clearance/moving-scene.ts";
import { sweptOf } from "../clearance/swept-move.ts";
import { createMover } from "../mover.ts";
import { runVariants } from "../runs.ts";
import { cardsOf } from "./cards.ts";
import { recoverRuns } from "./recover-runs.ts";
import { REDUCED_SPEED, stepRetreats } from "./retreats.ts";

function cellOf(text: string): Cell {
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  if (!loaded.ok) throw new Error(loaded.issues.map(({ found }) => found).join("\n"));
  return loaded.value;
}

function made(text: string) {
  const cell = cellOf(text);
  const arm = buildArm(cell.arm);
  const runs = runVariants(
    cell,
    createMover(cell, arm),
    ["short"],
    () => false,
    () => {},
  )!;
  return { cell, arm, runs };
}

const words = ({ retreats }: StepRetreats): string[] =>
  retreats.map(({ moves }) => moves.map(({ way, to }) => `${way} ${to}`).join(", "));

describe("the small lathe cell", () => {
  let shop: ReturnType<typeof made>;
  let retreats: ReadonlyMap<string, StepRetreats>;
  beforeAll(() => {
    shop = made(smallLathe);
    retreats = stepRetreats(shop.cell, shop.arm, shop.runs).get("short")!;
  }, 60_000);

  it("every step that was run has a way home", () => {
    for (const [id, step] of retreats)
      expect([id, step.reason, step.retreats.length > 0]).toEqual([id, undefined, true]);
  });

  it("every way ends at home and no motion of it is faster than the reduced speed allows", () => {
    for (const { retreats: ways, last } of retreats.values())
      for (const { moves } of ways) {
        const end = [...moves, ...(last ?? [])].at(-1);
        if (end !== undefined) expect(end.to).toBe("home");
      }
    const move = shop.runs.get("short")!.nominal.moves.find(({ outcome }) => outcome.ok && sweptOf)!;
    expect(move.outcome.ok).toBe(true);
    // A path of some length cannot be travelled sooner than at the reduced speed.
    const { swept } = sweptOf(move)!;
    expect(swept.duration).toBeGreaterThan(0);
    expect(REDUCED_SPEED).toBe(0.25);
  });

  it("a way back is as clear as it says at random points of the interrupted path", () => {
    const { cell, arm, runs } = shop;
    const run = runs.get("short")!.nominal;
    const builder = createSceneBuilder(cell, arm);
    const random = mulberry32(20250727);
    let compared = 0;
    const places = whereaboutsOf(cell, [run]);
    for (const [index, move] of run.moves.slice(0, 12).entries()) {
      const swept = sweptOf(move);
      const step = move.steps[0]!;
      const first = (retreats.get(step.id)?.retreats ?? []).flatMap(({ moves }) => moves[0] ?? []);
      const way = first.sort((a, b) => (a.clearance.least ?? 1) - (b.clearance.least ?? 1))[0];
      // Only steps without a meant contact: they go to named poses.
      if (swept === undefined || way?.way !== "back" || move.steps.length > 1) continue;
      if (step.kind !== "go" || step.to.kind !== "pose") continue;
      const scene = builder.sceneFor({
        held: move.context.held,
        resting: move.resting,
        devices: places.moves[index]![0]!,
      });
      const bodies = createSweptScene(arm, scene.bodies, scene.slides, scene.pairs);
      const q = new Float64Array(arm.n);
      for (let k = 0; k < 5; k++) {
        swept.swept.position(random() * swept.swept.duration, q);
        const { upper } = bodies.stateMinimum(q, { tolerance: 1e-5 });
        expect(upper).toBeGreaterThanOrEqual((way.clearance.least ?? 0) - 2e-4);
        compared++;
      }
    }
    expect(compared).toBeGreaterThan(0);
  });

  it("goes back along an approach and on along a withdrawal", () => {
    const all = [...retreats.values()].flatMap(words);
    expect(all.some((text) => text.startsWith("back "))).toBe(true);
    expect(all.some((text) => text.startsWith("on "))).toBe(true);
  });

  it("cards have wiring points, one motion home and a restart, and steps with the same procedure share one", {
    timeout: 60_000,
  }, () => {
    const outcome = recoverRuns(shop.cell, shop.arm, shop.runs, {
      steps: ["load[0]", "load[1]", "load[2]", "load[3]"],
    });
    if (!outcome.ok) throw new Error(outcome.reason);
    expect(outcome.steps).toBe(4);
    expect(outcome.cards.flatMap(({ steps }) => steps).sort()).toEqual(["load[0]", "load[1]", "load[2]", "load[3]"]);
    for (const { procedures } of outcome.cards)
      for (const { lines, verdict, reasons } of procedures) {
        expect([verdict, reasons]).toEqual(["proved", []]);
        expect(lines.at(-1)!.kind).toBe("restart");
        for (const { signal, wired } of lines) if (signal !== null) expect(wired).toMatch(/^(controller|flange) \d+$/);
      }
  });
});

it("a motion that comes too near to something is said not to be certified", { timeout: 60_000 }, () => {
  // More is asked for than there is between the tool and the table, and more than is told otherwise.
  const wide = smallLathe.replace("motion: { joint speed", "motion: { clearance: 300 mm, joint speed");
  expect(wide).not.toBe(smallLathe);
  const { cell, arm, runs } = made(wide);
  const steps = stepRetreats(cell, arm, runs).get("short")!;
  const moves = [...steps.values()].flatMap(({ retreats }) => retreats.flatMap(({ moves: list }) => list));
  for (const { clearance } of moves) expect(clearance.required).toBe(0.3);
  const near = moves.filter(({ clearance: { least } }) => least !== undefined && least < 0.3);
  expect(near.length).toBeGreaterThan(0);
  for (const { clearance } of near) expect(clearance.pair).toHaveLength(2);
});

it("steps of one list that follow each other are told as a range", () => {
  const { cell } = { cell: cellOf(smallLathe) };
  const procedure = {
    cause: "stopped",
    lines: [{ kind: "restart" }],
    possible: [],
    verdict: "proved",
    reasons: [],
    trained: false,
  } as const;
  const found = ["load[3]", "load[4]", "load[5]", "pick[0]"].map((stepId) => ({
    stepId,
    variant: "short",
    procedures: [procedure],
  }));
  const { cards } = cardsOf(cell, found);
  expect(cards.map(({ title }) => title)).toEqual(["load[3] to load[5], pick[0]"]);
});
