/** What the small cells of the cycle's tests lack for a proof: motions, zones that devices sweep, places that do not lie level. */
import type { Cell } from "../../src/cell/model.ts";
import type { Step } from "../../src/cell/steps.ts";
import type { StepMotion } from "../../src/proof/index.ts";

/** Every motion takes 0.5 to 1 s. One that leads to a machine's holder is in all zones at its end; one that leads out of it, on its way. */
export function motionsOf(cell: Cell): Map<string, StepMotion> {
  const motions = new Map<string, StepMotion>();
  const zones = [...cell.scene.zones.keys()];
  let inside = false;
  const visit = (steps: readonly Step[]): void => {
    for (const step of steps) {
      if (step.kind === "each") visit(step.steps);
      if (step.kind === "when") {
        visit(step.then);
        visit(step.otherwise);
      }
      if (step.kind !== "go" && step.kind !== "press") continue;
      const enters = step.kind === "press" ? inside : (step.to.at.default ?? "").includes(".");
      motions.set(step.id, {
        shortest: step.kind === "press" ? step.time : 0.5,
        longest: step.kind === "press" ? step.time : 1,
        zones: enters || inside ? zones : [],
        endZones: enters ? zones : [],
      });
      inside = enters;
    }
  };
  for (const { steps } of cell.routines.values()) visit(steps);
  return motions;
}

/** The same cell with holders in which a part does not stay by its weight: their z axis is level. */
export function lying(cell: Cell, holders: readonly string[]): Cell {
  // Turned a quarter about x.
  const level = Float64Array.of(1, 0, 0, 0, 0, 0, -1, 0, 0, 1, 0, 0, 0, 0, 0, 1);
  const changed = new Map(cell.holders);
  for (const name of holders) {
    const holder = cell.holders.get(name)!;
    changed.set(name, { ...holder, places: holder.places.map((place) => ({ ...place, worldFromPlace: level })) });
  }
  return { ...cell, holders: changed, locate: (path) => cell.locate(path) };
}

/** The same cell with a zone that a device sweeps. */
export function sweeping(cell: Cell, device: string, zone: string): Cell {
  const machines = new Map(
    [...cell.machines].map(([name, machine]) => [
      name,
      {
        ...machine,
        devices: machine.devices.map((d) => (d.name === device ? { ...d, sweeps: [...d.sweeps, zone] } : d)),
      },
    ]),
  );
  const zones = new Map(cell.scene.zones).set(zone, { name: zone, shapes: [] });
  return { ...cell, machines, scene: { ...cell.scene, zones }, locate: (path) => cell.locate(path) };
}
