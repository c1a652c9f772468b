/** Texts that are not a cell at all, and cells of several files. */
import { describe, expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { formatIssue, loadCell } from "../index.ts";
import type { CellSource } from "./source.ts";

function codes(files: Record<string, string> | CellSource, entry = "cell.yaml"): string[] {
  const loaded = loadCell(entry, "read" in files ? (files as CellSource) : textSource(files as Record<string, string>));
  return loaded.ok ? [] : loaded.issues.map(({ code, place }) => `${code} ${place.file}:${place.line}:${place.column}`);
}
const one = (text: string) => codes({ "cell.yaml": text });

describe("one file", () => {
  it("reads CRLF, a byte order mark and JSON alike", () => {
    expect(one(smallLathe.replaceAll("\n", "\r\n"))).toEqual([]);
    expect(one(`\ufeff${smallLathe}`)).toEqual([]);
  });

  it.each([
    ["nothing", "", "empty-file cell.yaml:1:1"],
    ["a comment only", "# to be written\n", "empty-file cell.yaml:1:1"],
    ["null", "null", "empty-file cell.yaml:1:1"],
    ["a list", "- a\n- b\n", "wrong-type cell.yaml:1:1"],
    ["a word", "cell", "wrong-type cell.yaml:1:1"],
    ["a number", "42", "wrong-type cell.yaml:1:1"],
    ["a tab", "cell: x\narm:\n\tname: y\n", "tab cell.yaml:3:1"],
    ["binary", "cell: x\n\u0000\u0001\u0002", "not-text cell.yaml:2:1"],
    ["damaged UTF-8", "cell: caf\ufffd\n", "not-text cell.yaml:1:10"],
    ["an open quote", 'cell: "x\narm: 1\n', "syntax"],
    ["an open bracket", "cell: [x\n", "syntax"],
    ["bad indentation", "cell: x\n arm: y\n", "syntax"],
    ["two documents", "cell: x\n---\ncell: y\n", "syntax"],
    ["a tag", "cell: !!binary aGVsbG8=\n", "syntax cell.yaml:1:16"],
    ["a lone minus in braces", "poses: { a: { branch: { elbow: -, wrist: + } } }\n", "syntax"],
    ["an unknown anchor", "cell: *name\n", "missing-anchor cell.yaml:1:7"],
    ["a map as key", "? { a: 1 }\n: 2\n", "bad-key"],
  ])("%s", (_what, text, expected) => {
    expect(one(text).join()).toContain(expected);
  });

  it("reports a key written twice where it stands the second time, and goes on", () => {
    const found = one("cell: a\ncell: b\narms: 1\n");
    expect(found[0]).toBe("missing-key cell.yaml:1:1");
    expect(found).toContain("duplicate-key cell.yaml:2:1");
    expect(found).toContain("unknown-key cell.yaml:3:1");
  });

  it("gives up alias bombs after a bounded number of values", () => {
    const bomb = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"];
    for (let i = 1; i < 30; i++)
      bomb.push(
        `a${i}: &a${i} [${Array(10)
          .fill(`*a${i - 1}`)
          .join(", ")}]`,
      );
    expect(one(bomb.join("\n"))[0]).toContain("too-many-values");
  });

  it("finds an alias inside its own anchor", () => {
    expect(one("cell: &a\n  b: *a\n")[0]).toBe("alias-cycle cell.yaml:2:6");
  });

  it.each([
    ["brackets", `cell: ${"[".repeat(100_000)}`],
    ["closed brackets", `cell: ${"[".repeat(300)}${"]".repeat(300)}`],
    ["braces", `cell: ${"{a: ".repeat(5_000)}`],
    ["dashes", "- ".repeat(20_000)],
    ["question marks", "? ".repeat(100_000)],
    ["indentation", Array.from({ length: 900 }, (_, i) => `${" ".repeat(i)}a:`).join("\n")],
  ])("gives up deep nesting of %s", (_what, text) => {
    expect(one(text).join()).toMatch(/too-deep|syntax/);
  });

  it("refuses 10 MB of rubbish at once", () => {
    expect(one("x".repeat(10_000_000))).toEqual(["too-large cell.yaml:1:1"]);
    expect(one("key: value\n".repeat(1_000_000))).toEqual(["too-large cell.yaml:1:1"]);
  });

  // Each of these is below the largest size and took the parser seconds and gigabytes before it was bounded.
  it.each([
    ["braces", "{}"],
    ["quotes", '"'],
    ["list entries", "- *a\n"],
    ["keys", "a: b\n"],
    ["tags", "! "],
    ["line ends", "\n"],
    ["directives", "%A b\n"],
  ])("refuses 400 kB of %s before composing it", (_what, unit) => {
    expect(one(unit.repeat(400_000 / unit.length))[0]).toContain("too-many-values");
  });

  it("lists a hundred issues of a text with thousands", () => {
    const text = Array.from({ length: 5000 }, (_, i) => `key-${i}: 1`).join("\n");
    const found = one(text);
    expect(found.length).toBe(100);
    expect(found.at(-1)).toContain("too-many-issues");
  });

  it("escapes what it shows of a text", () => {
    const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": '"\\u001b[31mred": 1\n' }));
    const text = loaded.ok ? "" : loaded.issues.map(formatIssue).join("\n");
    expect(text).not.toContain("\u001b");
    expect(text).toContain("\\u001b");
  });
});

describe("several files", () => {
  // The small cell split at its sections.
  const sections = smallLathe.split(/^(?=\S)/m);
  const pick = (name: string) => sections.find((section) => section.startsWith(`${name}:`))!;
  const without = (...names: string[]) =>
    sections.filter((section) => !names.some((name) => section.startsWith(`${name}:`))).join("");

  it("joins sections of files in folders, named relative to the file that names them", () => {
    const files = {
      "cells/a/cell.yaml": `include: [machines/lathe.yaml]\n${without("machines", "signals", "scene")}`,
      "cells/a/machines/lathe.yaml": `include: ../signals.yaml\n${pick("machines")}`,
      "cells/a/signals.yaml": `${pick("signals")}\n${pick("scene")}`,
    };
    expect(codes(files, "cells/a/cell.yaml")).toEqual([]);
  });

  it("joins the entries of one section from two files, and those of the scene one level deeper", () => {
    const files = {
      "cell.yaml": `include: [more.yaml]\n${smallLathe}`,
      "more.yaml":
        "signals:\n  spare: output\nposes:\n  spare: { at: [1, 2, 3 mm] }\nscene:\n  nests:\n    stand: { in: table, at: [0, 0, 10 mm] }\n  frames:\n    stand: { in: table }\n",
    };
    const loaded = loadCell("cell.yaml", textSource(files));
    if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
    expect(loaded.value.signals.has("spare")).toBe(true);
    expect(loaded.value.holders.get("stand")?.kind).toBe("nest");
    expect(loaded.value.locate(["poses", "spare"])).toEqual({ file: "more.yaml", line: 4, column: 3 });
  });

  it("names both places of an entry written in two files", () => {
    const loaded = loadCell(
      "cell.yaml",
      textSource({
        "cell.yaml": `include: [more.yaml]\n${smallLathe}`,
        "more.yaml": "signals:\n  grip: output\nmotion: { line step: 1 mm }\n",
      }),
    );
    const issues = loaded.ok ? [] : loaded.issues;
    expect(issues.map(({ code }) => code)).toEqual(["duplicate-key", "duplicate-key"]);
    expect(issues[0]!.place).toEqual({ file: "more.yaml", line: 2, column: 3 });
    expect(issues[0]!.expected).toMatch(/first at cell\.yaml:\d+/);
    expect(issues[1]!.place).toEqual({ file: "more.yaml", line: 3, column: 1 });
  });

  it.each([
    ["a missing file", "nowhere.yaml", "missing-file cell.yaml:1:11"],
    ["a path out of the folder", "../secret.yaml", "outside cell.yaml:1:11"],
    ["a path out by a detour", "a/../../secret.yaml", "outside cell.yaml:1:11"],
    ["an absolute path", "/etc/passwd", "outside cell.yaml:1:11"],
    ["a drive", "C:/cell.yaml", "outside cell.yaml:1:11"],
    ["an address", "https://example.org/cell.yaml", "outside cell.yaml:1:11"],
    ["backslashes", "..\\secret.yaml", "outside cell.yaml:1:11"],
    ["a folder", "machines/", "outside cell.yaml:1:11"],
    ["itself", "cell.yaml", "include-cycle cell.yaml:1:11"],
    ["itself by a detour", "./a/../cell.yaml", "include-cycle cell.yaml:1:11"],
  ])("refuses %s", (_what, path, expected) => {
    const asked: string[] = [];
    const files = textSource({ "cell.yaml": `include: [${path}]\n${smallLathe}` });
    const read: CellSource["read"] = (name) => {
      asked.push(name);
      return files.read(name);
    };
    const found = codes({ read });
    expect(found).toContain(expected);
    expect(asked.every((name) => name === "cell.yaml" || name === "nowhere.yaml")).toBe(true);
  });

  it("finds rounds of includes", () => {
    const found = codes({
      "cell.yaml": "include: [a.yaml]\n",
      "a.yaml": "include: [b.yaml]\n",
      "b.yaml": "include: [a.yaml]\n",
    });
    expect(found).toContain("include-cycle b.yaml:1:11");
  });

  it("reports every unreadable file of a cell at once, with the problem", () => {
    const source: CellSource = {
      read: (path) =>
        path === "cell.yaml"
          ? { text: `include: [a.yaml, b.yaml, c.yaml]\n${smallLathe}` }
          : path === "a.yaml"
            ? { problem: "unreadable", detail: "permission" }
            : path === "b.yaml"
              ? { problem: "too large", detail: "12 MB" }
              : { problem: "outside", detail: "a link" },
    };
    expect(codes(source)).toEqual([
      "unreadable-file cell.yaml:1:11",
      "too-large cell.yaml:1:19",
      "outside cell.yaml:1:27",
    ]);
  });

  it("reports a missing entry", () => {
    expect(codes({}, "nothing.yaml")).toEqual(["missing-file nothing.yaml:1:1"]);
  });
});
