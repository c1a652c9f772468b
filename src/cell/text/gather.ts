/** A cell's files read, parsed and joined into one map of sections. */
import type { IssueLog } from "./issue-log.ts";
import { parseText } from "./parse-text.ts";
import { type CellSource, folderOf, resolveIn } from "./source.ts";
import {
  describe,
  isNothing,
  keysOf,
  printable,
  type SourceText,
  type Spot,
  type WrittenEntry,
  type WrittenMap,
} from "./written.ts";

const MOST_FILES = 64;
const MOST_TEXT = 2_000_000;

/** Sections whose entries are joined one by one; the others may stand in one file only. */
const JOINED = new Set(["parts", "machines", "signals", "poses", "routines"]);
/** Sections that are themselves maps of maps: joined two levels down. */
const JOINED_DEEPER = new Set(["scene", "guarding"]);

export interface Gathered {
  readonly root: WrittenMap;
  /** Path of a file relative to the cell's folder, by the name of its text. */
  readonly pathOf: ReadonlyMap<string, string>;
  /** Folder of the entry, with a final "/" or empty. */
  readonly folder: string;
}

/** Reads the entry and everything it includes. @returns undefined when nothing usable was read; the reasons are in the log */
export function gather(entry: string, source: CellSource, log: IssueLog): Gathered | undefined {
  const folder = folderOf(entry);
  const pathOf = new Map<string, string>();
  const seen = new Set<string>();
  const open: string[] = [];
  const roots: WrittenMap[] = [];
  let total = 0;
  let broken = false;

  function readFile(path: string, spot: Spot | undefined): void {
    const name = path === entryPath ? entry : `${folder}${path}`;
    const here: Spot = spot ?? { source: nameless(name), start: 0, path: [] };
    if (open.includes(path)) {
      const round = [...open.slice(open.indexOf(path)), path].join(" → ");
      log.add("include-cycle", here, round, "files that do not include themselves", "Remove one include of the round.");
      return;
    }
    if (seen.has(path)) {
      log.add("duplicate-include", here, `${path} a second time`, "each file included once", "Remove this include.");
      return;
    }
    if (seen.size >= MOST_FILES) {
      log.add(
        "too-many-files",
        here,
        `more than ${MOST_FILES} files`,
        `at most ${MOST_FILES}`,
        "Join some of the files.",
      );
      broken = true;
      return;
    }
    seen.add(path);
    const got = source.read(name);
    if ("problem" in got) {
      broken = true;
      const { code, found, expected, mend } = unreadable(got.problem, name, got.detail);
      log.add(code, here, found, expected, mend);
      return;
    }
    total += got.text.length;
    if (total > MOST_TEXT) {
      broken = true;
      log.add(
        "too-large",
        here,
        "more than 2 million characters in all files",
        "at most 2 million",
        "Check that the right files are included.",
      );
      return;
    }
    const written = parseText(got.text, name, seen.size, log);
    pathOf.set(name, path);
    if (written === undefined) {
      broken = true;
      return;
    }
    if (isNothing(written)) {
      broken = true;
      log.add(
        "empty-file",
        written,
        "an empty file",
        "the sections of a cell",
        "Begin with cell: and the name of the cell.",
      );
      return;
    }
    if (written.kind !== "map") {
      broken = true;
      log.add(
        "wrong-type",
        written,
        describe(written),
        "a map of sections (cell:, arm:, …)",
        "Write each section as key: value.",
      );
      return;
    }
    roots.push(written);
    open.push(path);
    for (const item of included(written, log)) {
      const resolved = resolveIn(folderOf(path), item.text);
      if (resolved === undefined)
        log.wrong(
          "outside",
          item,
          "a file in the folder of the cell or below it",
          "Name it relative to this file, with '/' between folders, and keep it in the cell's folder.",
        );
      else readFile(resolved, item);
    }
    open.pop();
  }

  const entryPath = entry.slice(folder.length);
  readFile(entryPath, undefined);
  if (broken || roots.length === 0) return undefined;
  return { root: roots.length === 1 ? renamed(roots[0]!) : join(roots.map(renamed), log), pathOf, folder };
}

function included(
  root: WrittenMap,
  log: IssueLog,
): { text: string; kind: "scalar"; quoted: boolean; source: SourceText; start: number; path: Spot["path"] }[] {
  const list = root.entries.find(({ key }) => key === "include")?.value;
  if (list === undefined) return [];
  const items = list.kind === "list" ? list.items : [list];
  return items.flatMap((item) => {
    if (item.kind === "scalar" && item.text !== "") return [item];
    log.wrong("wrong-type", item, "the name of a file", "Write include: [signals.yaml, …].");
    return [];
  });
}

/** `machine` is read as `machines`. */
function renamed(root: WrittenMap): WrittenMap {
  const keys = keysOf(root);
  if (!keys.includes("machine") || keys.includes("machines")) return root;
  return {
    ...root,
    entries: root.entries.map((entry) => (entry.key === "machine" ? { ...entry, key: "machines" } : entry)),
  };
}

function join(roots: readonly WrittenMap[], log: IssueLog): WrittenMap {
  return joinMaps(roots, log, 0, "");
}

/** Level 0 joins sections, 1 the entries of a section, 2 those of scene and guarding. */
function joinMaps(maps: readonly WrittenMap[], log: IssueLog, level: number, section: string): WrittenMap {
  const entries = new Map<string, WrittenEntry>();
  for (const entry of maps.flatMap((map) => map.entries)) {
    if (level === 0 && entry.key === "include") continue;
    const first = entries.get(entry.key);
    if (first === undefined) entries.set(entry.key, entry);
    else if (joinable(level, section, entry.key) && first.value.kind === "map" && entry.value.kind === "map")
      entries.set(entry.key, {
        ...first,
        value: joinMaps([first.value, entry.value], log, level + 1, section || entry.key),
      });
    else {
      const { file, line } = first.keySpot.source.place(first.keySpot.start);
      log.add(
        "duplicate-key",
        entry.keySpot,
        `${printable(entry.key, 40)} a second time`,
        `it once (first at ${file}:${line})`,
        "Remove or rename one of the two.",
      );
    }
  }
  return { ...maps[0]!, entries: [...entries.values()] };
}

function joinable(level: number, section: string, key: string): boolean {
  if (level === 0) return JOINED.has(key) || JOINED_DEEPER.has(key);
  if (level === 1) return JOINED_DEEPER.has(section) && !["fence", "stopping", "monitoring"].includes(key);
  return false;
}

function unreadable(problem: "missing" | "unreadable" | "outside" | "too large", name: string, detail: string) {
  const shown = printable(name, 80);
  switch (problem) {
    case "missing":
      return {
        code: "missing-file",
        found: `no file ${shown}`,
        expected: "a file that exists",
        mend: "Check the name and the folder.",
      };
    case "outside":
      return {
        code: "outside",
        found: `${shown}, which leads out of the cell's folder`,
        expected: "a file in the folder of the cell or below it",
        mend: "Copy the file there.",
      };
    case "too large":
      return {
        code: "too-large",
        found: `${shown}: ${printable(detail, 60)}`,
        expected: "a text of at most 500000 characters",
        mend: "Check that this is the right file.",
      };
    default:
      return {
        code: "unreadable-file",
        found: `${shown}: ${printable(detail, 80)}`,
        expected: "a file that can be read",
        mend: "Check that it is a text file and that you may read it.",
      };
  }
}

function nameless(name: string): SourceText {
  return { name, order: 0, place: () => ({ file: name, line: 1, column: 1 }) };
}
