/** Checks that need every section fully read: process times for every part, stages, places and grips that steps name. */
import type { Reading } from "./form/kind.ts";
import type { Part } from "./model.ts";
import type { ReadMachine } from "./sections/machines.ts";
import type { ReadScene } from "./sections/scene.ts";
import type { ByVariant, Step } from "./steps.ts";
import { valueAt, type Written, type WrittenMap } from "./text/written.ts";

export interface UsageInput {
  readonly parts: ReadonlyMap<string, Omit<Part, "name">>;
  readonly machines: ReadonlyMap<string, ReadMachine>;
  readonly scene: ReadScene;
  readonly routines: ReadonlyMap<string, readonly Step[]>;
  readonly root: WrittenMap;
}

export function usageChecks(input: UsageInput, reading: Reading): void {
  checkProcesses(input, reading);
  checkContents(input, reading);
  for (const [name, steps] of input.routines)
    walk(steps, valueAt(valueAt(input.root, "routines"), name)!, input, reading);
}

/** Every process has a time, its own or each part's; parts that a process finishes have the stage that it makes. */
function checkProcesses({ parts, machines }: UsageInput, reading: Reading): void {
  for (const [machine, { processes }] of machines)
    for (const [short, { process, written }] of processes) {
      const name = `${machine}.${short}`;
      const without = [...parts].filter(([, part]) => !part.processTimes.has(name)).map(([part]) => part);
      if (process.time === undefined && (without.length > 0 || parts.size === 0))
        reading.log.add(
          "missing-key",
          written,
          `${name} without time${without.length > 0 ? `, and ${without.join(", ")} without a time of its own` : ""}`,
          "a time for the process, or for every part",
          "Add time to the process, or process times to the parts.",
        );
    }
}

/** What a holder has at the start is something that it accepts. */
function checkContents({ scene, machines }: UsageInput, reading: Reading): void {
  const holders = [
    ...[...scene.trays.values(), ...scene.nests.values()].map((holder) => ({ ...holder, key: "start" })),
    ...[...machines.values()].flatMap(({ devices }) =>
      [...devices.values()].map(({ loaded, accepts, written }) => ({ start: loaded, accepts, written, key: "loaded" })),
    ),
  ];
  for (const { start, accepts, written, key } of holders)
    if (start && accepts.length > 0 && !accepts.includes(start.part))
      reading.log.wrong(
        "not-accepted",
        valueAt(written, key) ?? written,
        `a part that it accepts (${accepts.join(", ")})`,
        "Correct one of the two.",
      );
}

function walk(steps: readonly Step[], list: Written, input: UsageInput, reading: Reading): void {
  if (list.kind !== "list") return;
  steps.forEach((step, i) => {
    const at = list.items[i]!;
    const value = valueAt(at, step.kind);
    if (value === undefined) return;
    if (step.kind === "go" || step.kind === "hold") {
      const names = step.kind === "go" ? step.to.at : step.from;
      if (step.kind === "go") {
        checkPlace(step.to, value, input, reading);
        if (step.via) checkPlace(step.via, valueAt(value, "via") ?? value, input, reading);
      }
      const grip = step.kind === "go" ? step.to.grip : step.grip;
      if (grip !== undefined) checkGrip(grip, names, valueAt(value, "grip") ?? value, input, reading);
    }
    if (step.kind === "each") walk(step.steps, valueAt(value, "do")!, input, reading);
    if (step.kind === "when") {
      walk(step.then, valueAt(value, "then")!, input, reading);
      const otherwise = valueAt(value, "otherwise");
      if (otherwise) walk(step.otherwise, otherwise, input, reading);
    }
  });
}

/** A fixed place exists in every holder that may be meant. */
function checkPlace(
  target: { readonly at: ByVariant; readonly place?: number },
  at: Written,
  { scene }: UsageInput,
  reading: Reading,
): void {
  if (target.place === undefined) return;
  for (const name of namesOf(target.at)) {
    const places = scene.trays.get(name)?.places.length ?? 1;
    if (target.place >= places)
      reading.log.wrong(
        "no-such-place",
        valueAt(at, "place") ?? at,
        places === 1 ? `1: ${name} has one place` : `a place from 1 to ${places}: ${name} has ${places}`,
        "Correct the place.",
      );
  }
}

/** At least one part has the grip; a part handled under its own variant name has it itself. */
function checkGrip(grip: string, names: ByVariant, at: Written, { parts }: UsageInput, reading: Reading): void {
  for (const part of names.variants.keys()) {
    const grips = [...(parts.get(part)?.grips.keys() ?? [])];
    if (!grips.includes(grip))
      reading.log.wrong(
        "missing-grip",
        at,
        `a grip of ${part} (${grips.join(", ")})`,
        `Add ${grip} to the grips of ${part}, or correct the name.`,
      );
  }
}

const namesOf = (names: ByVariant): ReadonlySet<string> =>
  new Set([...(names.default === undefined ? [] : [names.default]), ...names.variants.values()]);
