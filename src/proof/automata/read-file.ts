/** A file with a network of timed automata and queries (docs/reference/automata-file.md): text to description to network. */
import { either, isScalar, listOf, mapOf } from "../../cell/form/collections.ts";
import { given, type Kind, type Reading } from "../../cell/form/kind.ts";
import { collectNames } from "../../cell/form/names.ts";
import { may, need, readRecord, record } from "../../cell/form/records.ts";
import { text, word, yesNo } from "../../cell/form/scalars.ts";
import type { InputIssue, Loaded } from "../../cell/issue.ts";
import { IssueLog } from "../../cell/text/issue-log.ts";
import { parseText } from "../../cell/text/parse-text.ts";
import { describe, isNothing, type Spot, type Written } from "../../cell/text/written.ts";
import { buildNetwork } from "./build.ts";
import type {
  AutomatonDescription,
  ChannelDescription,
  EdgeDescription,
  LocationDescription,
  NetworkDescription,
  QueryDescription,
  VariableDescription,
} from "./model.ts";
import type { Network, Query } from "./network.ts";

export interface AutomataFile {
  readonly network: Network;
  readonly queries: readonly Query[];
}

/** A formula as text. What stands in it is read later, when all names are known. */
const formula: Kind<string> = {
  expected: "a formula",
  read(at, reading) {
    if (at.kind === "scalar" && !isNothing(at)) return at.text;
    return reading.log.wrong(
      "wrong-type",
      at,
      "a formula such as x <= 5",
      "Write it on one line, in quotes inside { } and [ ] where it holds a comma, a bracket or a colon.",
    );
  },
  schema: () => ({ type: ["string", "number", "boolean"] }),
};

const range: Kind<readonly [string, string]> = {
  expected: "the smallest and the largest value, [0, 3]",
  read(at, reading) {
    if (at.kind !== "list" || at.items.length !== 2)
      return reading.log.wrong("wrong-type", at, "the smallest and the largest value, [0, 3]", "Write range: [0, 3].");
    const ends = at.items.map((item) => formula.read(item, reading));
    return ends.includes(undefined) ? undefined : (ends as unknown as [string, string]);
  },
  schema: () => ({ type: "array", minItems: 2, maxItems: 2 }),
};

const variable: Kind<VariableDescription> = record("a variable", {
  range: need(range, "smallest and largest value, [0, 3]"),
  start: may(formula, "value at the start"),
  size: may(formula, "number of elements of an array"),
  numbers: may(text, "automaton whose copy numbers the values are, 0 for none"),
  note: may(text, "free text"),
});

const channel: Kind<ChannelDescription> = either<ChannelDescription>(
  "pair or broadcast, or a map with kind, urgent and size",
  isScalar,
  {
    expected: "pair or broadcast",
    read(at, reading) {
      const kind = word(["pair", "broadcast"] as const).read(at, reading);
      return kind && { kind };
    },
    schema: () => ({ enum: ["pair", "broadcast"] }),
  },
  record("a channel", {
    kind: need(word(["pair", "broadcast"] as const), "pair or broadcast"),
    urgent: may(yesNo, "yes where no time passes while the two could move"),
    size: may(formula, "number of channels of an array"),
    note: may(text, "free text"),
  }),
);

/** A location with nothing to say may be left empty. */
const location: Kind<LocationDescription> = {
  expected: "a location",
  read(at, reading) {
    if (isNothing(at)) return {};
    return fullLocation.read(at, reading);
  },
  schema: (parts) => fullLocation.schema(parts),
};
const fullLocation = record("a location", {
  invariant: may(formula, "condition that holds while the automaton is here, x <= 5"),
  kind: may(word(["ordinary", "urgent", "committed"] as const), "ordinary, urgent or committed"),
  note: may(text, "free text"),
});

const words: Kind<readonly string[]> = {
  expected: "a list of names",
  read(at, reading) {
    const list = at.kind === "list" ? at : { ...at, kind: "list" as const, items: [at] };
    return listOf("a list of names", text).read(list, reading);
  },
  schema: () => ({ type: "array" }),
};

const updates: Kind<readonly string[]> = {
  expected: "an assignment, or a list of them",
  read(at, reading) {
    const list = at.kind === "list" ? at : { ...at, kind: "list" as const, items: [at] };
    return listOf("assignments", formula).read(list, reading);
  },
  schema: () => ({ type: ["string", "array"] }),
};

/** Clocks set: one name, a list of names, or names with values. */
const resets: Kind<Readonly<Record<string, string | number>>> = {
  expected: "clocks to set to 0, [x, y], or clocks with values, { x: 3 }",
  read(at, reading) {
    if (at.kind === "map") {
      const read = mapOf("clocks with values", formula, { anyKey: true }).read(at, reading);
      return read && Object.fromEntries(read);
    }
    const names = words.read(at, reading);
    return names && Object.fromEntries(names.map((name) => [name, 0]));
  },
  schema: () => ({ type: ["string", "array", "object"] }),
};

const edge: Kind<EdgeDescription> = record("an edge", {
  from: need(text, "location where it begins"),
  to: need(text, "location where it ends"),
  guard: may(formula, "condition under which it can be taken"),
  send: may(formula, "channel on which it sends"),
  receive: may(formula, "channel on which it receives"),
  reset: may(resets, "clocks to set to 0, [x, y], or clocks with values, { x: 3 }"),
  update: may(updates, "assignments, in order"),
  label: may(text, "what the move is, for people"),
  note: may(text, "free text"),
});

const automaton: Kind<AutomatonDescription> = record("an automaton", {
  copies: may(formula, "number of copies, numbered from 1"),
  symmetric: may(yesNo, "yes where the copies may be exchanged"),
  clocks: may(words, "clocks of each copy, [x, y]"),
  variables: may(objectOf("variables by name", variable), "variables of each copy"),
  start: may(text, "location at the start, the first if left out"),
  locations: need(objectOf("locations by name", location, 1), "locations by name"),
  edges: may(listOf("edges", edge), "edges, one a line"),
  note: may(text, "free text"),
});

const constants: Kind<Readonly<Record<string, number>>> = objectOf("whole numbers by name", {
  expected: "a whole number",
  read(at, reading) {
    if (at.kind === "scalar" && !at.quoted && /^[+-]?\d{1,10}$/.test(at.text.trim())) return Number(at.text.trim());
    return reading.log.wrong("not-a-number", at, "a whole number", "Write a whole number without unit.");
  },
  schema: () => ({ type: "integer" }),
});

const query: Kind<Omit<QueryDescription, "name">> = {
  expected: "a query",
  read(at, reading) {
    if (at.kind === "scalar") {
      const kind = word(
        ["no deadlock", "time can always pass"] as const,
        "a map with never, can reach or always followed by, or one of",
      ).read(at, reading);
      return kind && ({ kind } as Omit<QueryDescription, "name">);
    }
    const read = queryRecord.read(at, reading);
    if (read === undefined) return undefined;
    const { when, within } = read;
    if (read.never !== undefined || read["can reach"] !== undefined) {
      for (const key of ["when", "within"] as const)
        if (read[key] !== undefined) {
          const entry = read.written.entries.find((e) => e.key === key)!;
          return reading.log.report(
            "conflicting-keys",
            entry.keySpot,
            `${key} with ${read.never !== undefined ? "never" : "can reach"}`,
            `${key} with always followed by only`,
            `Remove ${key}, or write always followed by.`,
          );
        }
      const kind = read.never !== undefined ? ("never" as const) : ("can reach" as const);
      return { kind, that: read[kind]! } as Omit<QueryDescription, "name">;
    }
    if (when === undefined)
      return reading.log.report(
        "missing-key",
        at,
        `${describe(at)} without when`,
        "when: a condition",
        "Add when: the condition that has to be followed.",
      );
    return given({ kind: "always followed by" as const, when, goal: read["always followed by"]!, within }) as Omit<
      QueryDescription,
      "name"
    >;
  },
  schema: (parts) => queryRecord.schema(parts),
};
const queryRecord = record(
  "a query",
  {
    never: may(formula, "condition that must not be reached"),
    "can reach": may(formula, "condition that some run has to reach"),
    when: may(formula, "condition that has to be followed"),
    "always followed by": may(formula, "condition that has to follow"),
    within: may(formula, "time in which it has to follow"),
    note: may(text, "free text"),
  },
  { exactlyOne: [["never", "can reach", "always followed by"]] },
);

const sections = {
  network: need(text, "the network's name"),
  note: may(text, "free text"),
  format: may(word(["1"] as const, "edition of the file format"), "edition of the file format, 1"),
  constants: may(constants, "whole numbers by name"),
  variables: may(objectOf("variables by name", variable), "shared variables by name"),
  clocks: may(words, "shared clocks, [x, y]"),
  channels: may(objectOf("channels by name", channel), "channels by name"),
  automata: need(objectOf("automata by name", automaton, 1), "automata by name"),
  queries: need(mapOf("queries by name", query, { least: 1, anyKey: true }), "queries by name"),
};

/** A map from names as an object; names are checked later. */
function objectOf<T>(what: string, item: Kind<T>, least = 0): Kind<Readonly<Record<string, T>>> {
  const map = mapOf(what, item, { anyKey: true, least });
  return {
    expected: what,
    read(at, reading) {
      const read = map.read(at, reading);
      // Not a plain object: a name such as __proto__ is a name like any other.
      return read && Object.fromEntries(read);
    },
    schema: (parts) => map.schema(parts),
  };
}

/**
 * Reads a file's text.
 * @returns the network and its queries, or every issue found. Never throws, whatever the text
 */
export function readAutomataFile(textOfFile: string, name: string): Loaded<AutomataFile> {
  const log = new IssueLog();
  const root = parseText(textOfFile, name, 1, log);
  if (root === undefined) return { ok: false, issues: log.list() };
  if (root.kind !== "map") {
    log.wrong(
      "wrong-type",
      root,
      "a map with network, automata and queries",
      "Begin with network: and the name of the network.",
    );
    return { ok: false, issues: log.list() };
  }
  const reading: Reading = {
    log,
    names: collectNames({ ...root, entries: [] }),
    readUrdf: () => undefined,
    resolveFile: () => undefined,
  };
  const read = readRecord(root, sections, "an automata file", reading) as
    | ({ network: string; queries: ReadonlyMap<string, Omit<QueryDescription, "name">> } & Omit<
        NetworkDescription,
        "name"
      >)
    | undefined;
  if (read === undefined || log.count > 0) return { ok: false, issues: log.list() };
  const { network: title, queries, ...rest } = read;
  const names = [...queries.keys()];
  const built = buildNetwork(
    { ...rest, name: title },
    [...queries].map(([query, described]) => ({ ...described, name: query }) as QueryDescription),
  );
  if (built.ok) return { ok: true, value: built };
  for (const { code, path, offset, found, expected, mend } of built.problems) {
    const [section, number, ...inside] = path;
    const named = section === "queries" ? ["queries", names[number as number]!, ...inside] : path;
    log.add(code, spotOf(root, named, offset), found, expected, mend);
  }
  const issues: readonly InputIssue[] = log.list();
  return { ok: false, issues };
}

/** Where a path of the description is written, and so many characters into the text there. */
function spotOf(root: Written, path: readonly (string | number)[], offset: number): Spot {
  let at: Written = root;
  let spot: Spot = root;
  for (const part of path) {
    let next: { spot: Spot; value: Written } | undefined;
    if (typeof part === "number" && at.kind === "list" && at.items[part] !== undefined)
      next = { spot: at.items[part]!, value: at.items[part]! };
    else if (at.kind === "map") {
      const entry = at.entries.find(({ key }) => key === part);
      if (entry) next = { spot: entry.keySpot, value: entry.value };
    } else if (at.kind === "list" && typeof part === "string") {
      const item = at.items.find((one) => one.kind === "scalar" && one.text === part);
      if (item) next = { spot: item, value: item };
    }
    if (next === undefined) break;
    at = next.value;
    spot = next.spot;
  }
  // Problems of names are those of keys; all others are of what stands behind the key.
  if (at.kind !== "scalar" || isNothing(at)) return { ...spot, path };
  return { source: at.source, start: at.start + offset + (at.quoted ? 1 : 0), path };
}
