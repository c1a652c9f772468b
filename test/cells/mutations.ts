/** Random damage to cell files: to the tree of values, or to the text. */
import fc from "fast-check";

type Tree = unknown;
type Slot = { readonly holder: Record<string | number, Tree>; readonly key: string | number };

/** Every place of a tree that holds a value. */
function slots(tree: Tree, out: Slot[] = []): Slot[] {
  if (typeof tree !== "object" || tree === null) return out;
  for (const key of Array.isArray(tree) ? tree.keys() : Object.keys(tree)) {
    out.push({ holder: tree as Record<string | number, Tree>, key });
    slots((tree as Record<string | number, Tree>)[key], out);
  }
  return out;
}

const junk = fc.constantFrom<Tree>(
  null,
  0,
  -1,
  1e300,
  12,
  true,
  "",
  "x",
  "home",
  "none",
  "stop",
  "420 mm",
  "90 deg",
  "0.5 s",
  "20 N",
  "2.4 kg",
  "80 %",
  ".inf",
  "NaN",
  "-5 mm",
  "1 to 2 s",
  "on",
  "off",
  "world",
  "constructor",
  "5 toString",
  "__proto__",
  "main",
  "a, b, c",
  "0, 0, 0 mm",
  "a".repeat(300),
  "é\u0085 ☃",
  [],
  {},
  [[]],
  { x: null },
  ["home"],
  { to: "home" },
  [0, 0, "1 mm"],
  { signal: "grip", to: "on" },
  { at: [0, 0, "0 mm"] },
  [1, 2, 3],
  { all: [] },
  { run: "main" },
  { default: "home" },
);

export interface Damage {
  readonly where: number;
  readonly what: "delete" | "replace" | "wrap in list" | "wrap in map" | "rename" | "copy";
  readonly other: number;
  readonly junk: Tree;
}

export const damage: fc.Arbitrary<Damage> = fc.record({
  where: fc.nat(),
  what: fc.constantFrom("delete", "replace", "wrap in list", "wrap in map", "rename", "copy"),
  other: fc.nat(),
  junk,
});

/** A damaged copy of a tree. */
export function damaged(tree: Tree, { where, what, other, junk }: Damage): Tree {
  const copy = structuredClone(tree);
  const all = slots(copy);
  if (all.length === 0) return copy;
  const { holder, key } = all[where % all.length]!;
  switch (what) {
    case "delete":
      if (Array.isArray(holder)) holder.splice(Number(key), 1);
      else delete holder[key];
      break;
    case "replace":
      holder[key] = structuredClone(junk);
      break;
    case "wrap in list":
      holder[key] = [holder[key]];
      break;
    case "wrap in map":
      holder[key] = { [typeof junk === "string" ? junk : "x"]: holder[key] };
      break;
    case "rename":
      if (!Array.isArray(holder)) {
        holder[`${key}s`] = holder[key];
        delete holder[key];
      }
      break;
    case "copy": {
      const from = all[other % all.length]!;
      holder[key] = structuredClone(from.holder[from.key]);
      break;
    }
  }
  return copy;
}

export interface Splice {
  readonly at: number;
  readonly remove: number;
  readonly insert: string;
}

export const splice: fc.Arbitrary<Splice> = fc.record({
  at: fc.nat(),
  remove: fc.oneof(fc.nat(3), fc.nat(80)),
  insert: fc.oneof(
    fc.string({ maxLength: 6 }),
    fc.string({ maxLength: 6, unit: "binary" }),
    fc.constantFrom(
      "\n",
      "\t",
      "  ",
      "- ",
      ": ",
      "{",
      "}",
      "[",
      "]",
      '"',
      "'",
      "#",
      "&a ",
      "*a",
      "!!",
      "|",
      ">",
      "%",
      "---\n",
      "...\n",
      "\r",
      "\ufeff",
      "\u0000",
      "<<: *a",
      "? ",
      "constructor",
      "__proto__: ",
    ),
  ),
});

export function spliced(text: string, { at, remove, insert }: Splice): string {
  const start = at % (text.length + 1);
  return text.slice(0, start) + insert + text.slice(start + remove);
}
