/** Whatever the text: a cell, or issues that stand inside the file; never a throw. */
import fc from "fast-check";
import { expect, it } from "vitest";
import { parse, stringify } from "yaml";
import { damage, damaged, splice, spliced } from "../../test/cells/mutations.ts";
import { smallLathe, textSource } from "../../test/cells/texts.ts";
import { loadArm, loadCell } from "./index.ts";

const tree: unknown = parse(smallLathe);

function holds(text: string): void {
  for (const load of [loadCell, loadArm]) {
    const loaded = load("cell.yaml", textSource({ "cell.yaml": text }));
    if (loaded.ok) continue;
    expect(loaded.issues.length).toBeGreaterThan(0);
    expect(loaded.issues.length).toBeLessThanOrEqual(100);
    const lines = text.split("\n");
    for (const { code, path, place, found, expected, mend } of loaded.issues) {
      expect(code).toMatch(/^[a-z]+(-[a-z]+)*$/);
      expect(place.line).toBeGreaterThanOrEqual(1);
      expect(place.line).toBeLessThanOrEqual(lines.length);
      expect(place.column).toBeGreaterThanOrEqual(1);
      expect(place.column).toBeLessThanOrEqual(lines[place.line - 1]!.length + 1);
      for (const words of [path, found, expected, mend]) {
        // biome-ignore lint/suspicious/noControlCharactersInRegex: that none of them comes through is the point
        expect(words).not.toMatch(/[\u0000-\u001f\u007f-\u009f]|undefined|\[object/);
        expect(words.length).toBeLessThan(1500);
      }
      for (const words of [found, expected, mend]) expect(words.trim()).not.toBe("");
    }
  }
}

it("holds for damaged trees", () => {
  fc.assert(
    fc.property(fc.array(damage, { minLength: 1, maxLength: 4 }), (damages) => {
      holds(stringify(damages.reduce(damaged, tree), { aliasDuplicateObjects: false }));
    }),
    { seed: 20_260, numRuns: 60 },
  );
});

it("holds for damaged trees as JSON", () => {
  fc.assert(
    fc.property(fc.array(damage, { minLength: 1, maxLength: 3 }), (damages) => {
      holds(JSON.stringify(damages.reduce(damaged, tree), null, 1));
    }),
    { seed: 20_261, numRuns: 30 },
  );
});

it("holds for spliced texts", () => {
  fc.assert(
    fc.property(fc.array(splice, { minLength: 1, maxLength: 4 }), (splices) => {
      holds(splices.reduce(spliced, smallLathe));
    }),
    { seed: 20_262, numRuns: 80 },
  );
});

it("holds for texts that were never a cell", () => {
  fc.assert(
    fc.property(
      fc.oneof(fc.string({ maxLength: 200 }), fc.string({ maxLength: 200, unit: "binary" }), fc.json()),
      holds,
    ),
    { seed: 20_263, numRuns: 200 },
  );
});
