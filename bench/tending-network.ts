/** A cell without times, for comparing explorers: one arm tends machines from an infeed to an outfeed, an operator fills and empties. */
import type { AutomatonDescription, EdgeDescription, NetworkDescription } from "../src/proof/index.ts";

/** @param machines number of machines   @param stock most parts at the infeed, and at the outfeed */
export function tendingNetwork(machines: number, stock: number): NetworkDescription {
  const automata: Record<string, AutomatonDescription> = {};
  for (let k = 0; k < machines; k++)
    automata[`machine${k}`] = {
      locations: { open: {}, closing: {}, closed: {}, running: {}, ended: {}, opening: {} },
      edges: [
        { from: "open", to: "closing", guard: `start${k} = 1`, update: [`ready${k} := 0`] },
        { from: "closing", to: "closed" },
        { from: "closed", to: "running", guard: `part${k} = 1` },
        { from: "running", to: "ended", update: [`part${k} := 2`] },
        { from: "ended", to: "opening", update: [`start${k} := 0`] },
        { from: "opening", to: "open", update: [`ready${k} := 1`] },
      ],
    };
  const edges: EdgeDescription[] = [
    { from: "home", to: "infeed", guard: "held = 0 and raw > 0" },
    { from: "infeed", to: "home", guard: "raw > 0", update: ["raw := raw - 1", "held := 1"] },
    { from: "home", to: "outfeed", guard: "held = 2" },
    { from: "outfeed", to: "home", guard: `done < ${stock}`, update: ["done := done + 1", "held := 0"] },
  ];
  const locations: Record<string, object> = { home: {}, infeed: {}, outfeed: {} };
  for (let k = 0; k < machines; k++) {
    locations[`before${k}`] = {};
    locations[`inside${k}`] = {};
    locations[`leaving${k}`] = {};
    edges.push(
      {
        from: "home",
        to: `before${k}`,
        guard: `ready${k} = 1 and (held = 1 and part${k} = 0 or held = 0 and part${k} = 2)`,
      },
      { from: `before${k}`, to: `inside${k}` },
      { from: `inside${k}`, to: `leaving${k}`, guard: "held = 1", update: [`part${k} := 1`, "held := 0"] },
      {
        from: `inside${k}`,
        to: `leaving${k}`,
        guard: `held = 0 and part${k} = 2`,
        update: [`part${k} := 0`, "held := 2"],
      },
      { from: `leaving${k}`, to: "home", guard: `part${k} = 1`, update: [`start${k} := 1`] },
      { from: `leaving${k}`, to: "home", guard: `part${k} = 0` },
    );
  }
  automata["arm"] = { locations, edges };
  automata["operator"] = {
    locations: { away: {}, filling: {}, emptying: {} },
    edges: [
      { from: "away", to: "filling", guard: `raw < ${stock}` },
      { from: "filling", to: "away", guard: `raw < ${stock}`, update: ["raw := raw + 1"] },
      { from: "away", to: "emptying", guard: "done > 0" },
      { from: "emptying", to: "away", guard: "done > 0", update: ["done := done - 1"] },
    ],
  };
  const variables: Record<string, { range: readonly [number, number]; start?: number }> = {
    held: { range: [0, 2] },
    raw: { range: [0, stock] },
    done: { range: [0, stock] },
  };
  for (let k = 0; k < machines; k++) {
    variables[`part${k}`] = { range: [0, 2] };
    variables[`start${k}`] = { range: [0, 1] };
    variables[`ready${k}`] = { range: [0, 1], start: 1 };
  }
  return { name: `${machines} machines, stock ${stock}`, variables, automata };
}
