/** The JSON Schema (draft 2020-12) of the cell file as written, printed from the same definitions that the loader reads by. */

import type { JsonSchema, SchemaParts } from "./form/kind.ts";
import { record } from "./form/records.ts";
import { cellFields } from "./load.ts";

/** A new schema object each time; `machine` is offered beside `machines`, and included files may leave out any section. */
export function cellJsonSchema(): object {
  const parts: SchemaParts = new Map();
  const whole = record("a cell", cellFields).schema(parts) as {
    properties: Record<string, JsonSchema>;
    required: readonly string[];
  };
  const { required, properties, ...rest } = whole;
  return {
    $schema: "https://json-schema.org/draft/2020-12/schema",
    title: "Millhand cell file",
    description: "One robotic machine-tending cell. Quantities carry their unit.",
    ...rest,
    properties: { ...properties, machine: { ...properties["machines"], description: "the same as machines" } },
    // A file that includes others, or is included, need not have every section itself.
    anyOf: [{ required }, { required: ["include"] }, { not: { required: ["cell"] } }],
    $defs: Object.fromEntries(parts),
  };
}
