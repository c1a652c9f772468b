/** What a routine can run into, asked of its network directly: what `proveCell` finds, without its search for mends. */
import type { Cell } from "../../src/cell/model.ts";
import {
  createNetwork,
  type Exploration,
  explore,
  type QueryDescription,
  type StepMotion,
  type Trouble,
} from "../../src/proof/index.ts";
import { type Translation, translate } from "../../src/proof/tending/translate.ts";

/** Every trouble that can be met first. */
export function troublesOf(cell: Cell, variant: string, motions: ReadonlyMap<string, StepMotion>): readonly Trouble[] {
  const { translation, exploration } = look(cell, variant, motions, ({ trouble, troubles }) =>
    troubles.map((_, i) => ({ name: String(i), kind: "never", that: `${trouble} = ${i + 1}` })),
  );
  return translation.troubles.filter((_, i) => exploration.queries[i]!.verdict === "violated");
}

/** Whether a trouble of one of the kinds can be met; looks no further than to the first. */
export function canMeet(
  cell: Cell,
  variant: string,
  motions: ReadonlyMap<string, StepMotion>,
  kinds: ReadonlySet<string>,
): boolean {
  const { exploration } = look(cell, variant, motions, ({ trouble, troubles }) => {
    const numbers = troubles.flatMap(({ kind }, i) => (kinds.has(kind) ? [`${trouble} = ${i + 1}`] : []));
    return numbers.length === 0 ? [] : [{ name: "fitting", kind: "never", that: numbers.join(" or ") }];
  });
  return exploration.queries.some(({ verdict }) => verdict === "violated");
}

function look(
  cell: Cell,
  variant: string,
  motions: ReadonlyMap<string, StepMotion>,
  questions: (translation: Translation) => readonly QueryDescription[],
): { readonly translation: Translation; readonly exploration: Exploration } {
  const outcome = translate(cell, { variant, motions });
  if (!outcome.ok) throw new Error(outcome.reason);
  const { translation } = outcome;
  const { network, queries } = createNetwork(translation.network, questions(translation));
  const exploration = explore(network, queries, {});
  for (const { verdict, reason } of exploration.queries) if (verdict === "undecided") throw new Error(reason);
  return { translation, exploration };
}
