/** The published schema and the loader accept the same files, as far as a schema can tell. Judge: ajv, an independent validator. */
import { readdirSync, readFileSync } from "node:fs";
import { Ajv2020 } from "ajv/dist/2020.js";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { parse, stringify } from "yaml";
import { type Damage, damage, damaged } from "../../test/cells/mutations.ts";
import { smallLathe, textSource } from "../../test/cells/texts.ts";
import { cellJsonSchema, loadCell } from "./index.ts";

const schema = cellJsonSchema() as { readonly [key: string]: unknown };
const validate = new Ajv2020({ strict: true, strictRequired: false, allowUnionTypes: true }).compile(schema);
const tree: unknown = parse(smallLathe);

it("is a schema of draft 2020-12 that prints as JSON", () => {
  expect(schema["$schema"]).toBe("https://json-schema.org/draft/2020-12/schema");
  expect(JSON.parse(JSON.stringify(schema))).toEqual(schema);
});

it("accepts the small cell", () => {
  expect(validate(tree), JSON.stringify(validate.errors)).toBe(true);
});

describe("the example cells", () => {
  const root = new URL("../../examples/", import.meta.url);
  const files = readdirSync(root, { recursive: true, encoding: "utf8" }).filter(
    // Networks of timed automata are another form of file.
    (name) => name.endsWith(".yaml") && !name.startsWith("automata"),
  );
  it.each(files)("%s", (name) => {
    expect(validate(parse(readFileSync(new URL(name, root), "utf8"))), JSON.stringify(validate.errors)).toBe(true);
  });
});

/** What only the loader can know: names, ranges, and how things fit together. */
const BEYOND =
  /^(missing-(?!key|unit)|bad-(name|branch|home)|out-of-range|range-order|duplicate|output-used|input-used|point-used|no-such|signal-|conflicting|recursion|cyclic|impossible|not-a-rotation|mixed|same-position|wrong-length|missing-key|not-finite|missing-unit|not-a-quantity)/;

/** Codes that a schema sees as well. */
const STRUCTURE = /^(unknown-key|unknown-step|unknown-word|wrong-unit|unknown-unit|two-steps)$/;

it("accepts whatever the loader accepts, and refuses unknown keys, steps, words and units as it does", () => {
  // "copy" puts values of one kind where another is wanted, which is the hardest for both.
  fc.assert(
    fc.property(fc.array(damage, { minLength: 1, maxLength: 2 }), (damages: Damage[]) => {
      const text = stringify(damages.reduce(damaged, tree), { aliasDuplicateObjects: false });
      const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
      const valid = validate(parse(text));
      if (loaded.ok) expect(valid, `${JSON.stringify(validate.errors)}\n${JSON.stringify(damages)}`).toBe(true);
      if (valid && !loaded.ok) {
        // Joint values are angles or lengths as the arm's joints want them: beyond a schema.
        // So are the names of parts: unknown keys of a target may be names in a choice by part.
        const seen = loaded.issues.filter(
          ({ code, path }) =>
            !/^poses\..*\.joints/.test(path) && !(code === "unknown-key" && /\.(go|to|via)\.[^.]+$/.test(path)),
        );
        expect(
          seen.filter(({ code }) => STRUCTURE.test(code)),
          JSON.stringify(damages),
        ).toEqual([]);
        for (const { code } of seen) expect(`${code} ${BEYOND.test(code) || code === "wrong-type"}`).toMatch(/true$/);
      }
    }),
    { seed: 2020, numRuns: 80 },
  );
});
