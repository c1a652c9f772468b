/** `run`, `each` and `when`: which steps are performed, and how often. */
import { listOf } from "../../form/collections.ts";
import { given, type Kind, refined } from "../../form/kind.ts";
import { nameOf } from "../../form/named.ts";
import { may, need, record } from "../../form/records.ts";
import { count } from "../../form/scalars.ts";
import type { ByVariant, Step } from "../../steps.ts";
import type { BareStep } from "./bare-step.ts";
import { condition } from "./conditions.ts";
import { holderName } from "./names-by-part.ts";

export const run = refined(nameOf("routine"), (routine): BareStep => ({ kind: "run", routine }));
const overKind: Kind<readonly ByVariant[]> = {
  expected: "a holder, or a list of holders walked in step",
  read: (at, reading) => {
    if (at.kind === "list") return listOf("holders", holderName, 1).read(at, reading);
    const one = holderName.read(at, reading);
    return one && [one];
  },
  schema: (parts) => ({
    anyOf: [holderName.schema(parts), { type: "array", items: holderName.schema(parts), minItems: 1 }],
  }),
};
/** `each` over lists of steps. */
export const each = (steps: Kind<readonly Step[]>) =>
  refined(
    record(
      "a repetition",
      {
        place: may(overKind, "holders walked in step"),
        times: may(count(1, 1_000_000), "number of passes"),
        do: need(steps, "steps"),
      },
      { exactlyOne: [["place", "times"]] },
    ),
    (value): BareStep => given({ kind: "each" as const, over: value.place ?? [], times: value.times, steps: value.do }),
  );
/** `when` over lists of steps. */
export const when = (steps: Kind<readonly Step[]>) =>
  refined(
    record("a branch", {
      if: need(condition, "condition"),
      // biome-ignore lint/suspicious/noThenProperty: the file's own word; this table is never awaited
      then: need(steps, "steps when it holds"),
      otherwise: may(steps, "steps when it does not"),
    }),
    // biome-ignore lint/suspicious/noThenProperty: the step's own word; steps are never awaited
    (value): BareStep => ({ kind: "when", condition: value.if, then: value.then, otherwise: value.otherwise ?? [] }),
  );
