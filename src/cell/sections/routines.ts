/** `routines`: the steps an arm performs. A step is one keyword with its value, and a note. */
import { listOf, mapOf } from "../form/collections.ts";
import { type JsonSchema, type Kind, named, type SchemaParts } from "../form/kind.ts";
import { text } from "../form/scalars.ts";
import type { Step } from "../steps.ts";
import { nearest } from "../text/did-you-mean.ts";
import { type Path, printable, valueAt } from "../text/written.ts";
import type { BareStep } from "./steps/bare-step.ts";
import { each, run, when } from "./steps/flow-steps.ts";
import { free, hold, press } from "./steps/handling-steps.ts";
import { go } from "./steps/motion-step.ts";
import { drive, dwell, pulse, waiting } from "./steps/signal-steps.ts";

/** What a path in the file is in the vocabulary of steps: ["routines", "load", 4, "do", 0], without the keywords between. */
function stepPath(written: Path): Path {
  return written.filter(
    (part, i) => typeof part === "number" || i < 2 || part === "do" || part === "then" || part === "otherwise",
  );
}

function stepId(path: Path): string {
  return path
    .slice(1)
    .reduce<string>(
      (text, part, i) => text + (typeof part === "number" ? `[${part}]` : i === 0 ? part : `.${part}`),
      "",
    );
}

const KEYWORDS = [
  "go",
  "hold",
  "free",
  "drive",
  "pulse",
  "await",
  "dwell",
  "press",
  "run",
  "each",
  "when",
] as const satisfies readonly Step["kind"][];

const steps: Kind<readonly Step[]> = listOf(
  "a list of steps",
  named("step", () => step),
);

const kinds: Record<Step["kind"], Kind<BareStep>> = {
  go,
  hold,
  free,
  drive,
  pulse,
  await: waiting,
  dwell,
  press,
  run,
  each: each(steps),
  when: when(steps),
};

const step: Kind<Step> = {
  expected: `a step: ${KEYWORDS.join(", ")}`,
  read(at, reading) {
    if (at.kind !== "map") {
      const bare = at.kind === "scalar" && (KEYWORDS as readonly string[]).includes(at.text.trim());
      return reading.log.wrong(
        "wrong-type",
        at,
        this.expected,
        bare ? `Write - ${at.text.trim()}: and its value.` : "Write a step as - keyword: value.",
      );
    }
    const present = at.entries.filter(({ key }) => (KEYWORDS as readonly string[]).includes(key));
    if (present.length > 1)
      return reading.log.report(
        "two-steps",
        present[1]!.keySpot,
        `${present.map(({ key }) => key).join(" and ")} in one entry`,
        "one step in each entry of the list",
        "Begin each step with '- ' on a line of its own.",
      );
    const before = reading.log.count;
    const keyword = present[0];
    for (const { key, keySpot, value } of at.entries) {
      if (key === keyword?.key) continue;
      if (key === "note") {
        text.read(value, reading);
        continue;
      }
      const near = keyword ? nearest(key, ["note"]) : nearest(key, KEYWORDS);
      const mend = near
        ? `Did you mean ${near}?`
        : keyword
          ? `Indent it under ${keyword.key}:, or write ${keyword.key}: { … }.`
          : "Begin the step with one of these keywords.";
      reading.log.add(
        keyword ? "unknown-key" : "unknown-step",
        keySpot,
        printable(key, 60),
        keyword ? `the step ${keyword.key} with its value, and perhaps a note` : this.expected,
        mend,
      );
    }
    if (keyword === undefined) {
      if (reading.log.count === before)
        reading.log.wrong("unknown-step", at, this.expected, "Begin the step with one of these keywords.");
      return undefined;
    }
    const value = kinds[keyword.key as Step["kind"]].read(keyword.value, reading);
    if (value === undefined || reading.log.count !== before) return undefined;
    const path = stepPath(at.path);
    const note = valueAt(at, "note");
    return { ...value, path, id: stepId(path), ...(note?.kind === "scalar" ? { note: note.text } : {}) } as Step;
  },
  schema: (parts: SchemaParts): JsonSchema => ({
    type: "object",
    properties: {
      ...Object.fromEntries(KEYWORDS.map((key) => [key, kinds[key].schema(parts)])),
      note: text.schema(parts),
    },
    oneOf: KEYWORDS.map((key) => ({ required: [key] })),
    additionalProperties: false,
    description: `a step: ${KEYWORDS.join(", ")}`,
  }),
};
/** Routines by name. */
export const routinesKind: Kind<ReadonlyMap<string, readonly Step[]>> = mapOf("routines by name", steps, { least: 1 });
