/** `millhand schema`: the JSON Schema of the cell file. */
import { cellJsonSchema } from "../../cell/index.ts";
import { SCHEMA_VERSION } from "../../check/result.ts";

/** The schema as JSON text; inside a document with schemaVersion on request. */
export function schema(asDocument: boolean): string {
  const value = cellJsonSchema();
  return `${JSON.stringify(asDocument ? { schemaVersion: SCHEMA_VERSION, schema: value } : value, null, 2)}\n`;
}
