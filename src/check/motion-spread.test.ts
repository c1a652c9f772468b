import { readFileSync } from "node:fs";
import path from "node:path";
import { expect, it } from "vitest";
import { loadCell } from "../cell/index.ts";
import { type Motion, sweptMotionOf } from "../motion/index.ts";
import { checkCell } from "./check-cell.ts";
import { movesMade } from "./mover.ts";

/** Motions of a demo cell, and how many joints its arm has. */
function motionsOf(cell: string): Motion[] {
  const folder = path.resolve("examples", cell);
  const loaded = loadCell("cell.yaml", {
    read: (file: string) => ({ text: readFileSync(path.join(folder, file), "utf8") }),
  });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  const outcome = checkCell(loaded.value);
  if (!outcome.ok) throw new Error(outcome.reason);
  const runs = [...outcome.runs.values()].flatMap(({ nominal }) => [nominal]);
  return [...movesMade(runs)].map(({ move }) => move.motion);
}

/** Sampled at 10 kHz, no joint leaves the bounds of any of the intervals of every halving. */
it.each(["lathe", "mill", "two-lathes"])("bounds of the planned motions of %s hold at 10 kHz", (cell) => {
  const motions = motionsOf(cell);
  expect(motions.length).toBeGreaterThan(5);
  let widest = 0,
    used = 0;
  for (const motion of motions) {
    const n = motion.end.length;
    const swept = sweptMotionOf(motion);
    const count = Math.ceil(motion.duration * 10_000);
    const samples = new Float64Array(n * (count + 1));
    const state = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
    const q = new Float64Array(n),
      spread = new Float64Array(n);
    let apart = 0;
    for (let k = 0; k <= count; k++) {
      const time = (motion.duration * k) / count;
      motion.sample(time, state);
      samples.set(state.q, n * k);
      swept.position(time, q);
      for (let i = 0; i < n; i++) apart = Math.max(apart, Math.abs(q[i]! - state.q[i]!));
    }
    expect(apart).toBeLessThan(1e-12);
    for (let parts = 1; parts <= 1024; parts *= 4)
      for (let p = 0; p < parts; p++) {
        const from = (motion.duration * p) / parts,
          to = (motion.duration * (p + 1)) / parts;
        swept.position((from + to) / 2, q);
        swept.spread(from, to, spread);
        const end = Math.floor((count * (p + 1)) / parts);
        for (let i = 0; i < n; i++) {
          let most = 0;
          for (let k = Math.ceil((count * p) / parts); k <= end; k++)
            most = Math.max(most, Math.abs(samples[n * k + i]! - q[i]!));
          if (!(most <= spread[i]!))
            expect.fail(`joint ${i + 1} leaves ${from} to ${to} s by ${most - spread[i]!} of ${spread[i]}`);
          widest += spread[i]!;
          used += most;
        }
      }
  }
  // The bounds are close: a bound that always holds because it is wide would prove nothing.
  expect(used / widest).toBeGreaterThan(0.9);
});
