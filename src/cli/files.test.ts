import {
  lstatSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { UnusableInput } from "./exit-status.ts";
import { fileSource, LARGEST_FILE } from "./file-source.ts";
import { claimFile, discardUnfinished } from "./whole-file.ts";

let home: string;
beforeEach(() => {
  home = mkdtempSync(join(tmpdir(), "millhand-"));
});
afterEach(() => rmSync(home, { recursive: true, force: true }));

describe("reading the files of a cell", () => {
  const inHome = (name: string) => join(home, "cell", name);
  beforeEach(() => {
    mkdirSync(join(home, "cell", "machines"), { recursive: true });
    writeFileSync(inHome("cell.yaml"), "cell: a\n");
    writeFileSync(inHome("machines/lathe.yaml"), "note: ü\n");
    writeFileSync(join(home, "secret.yaml"), "secret");
  });

  it("reads the entry and what lies below its folder", () => {
    const source = fileSource(inHome("cell.yaml"));
    expect(source.read(inHome("cell.yaml"))).toEqual({ text: "cell: a\n" });
    expect(source.read(inHome("machines/lathe.yaml"))).toEqual({ text: "note: ü\n" });
  });

  it("reads an entry that is itself a link, but follows no other link out of the folder", () => {
    symlinkSync(join(home, "secret.yaml"), inHome("outside.yaml"));
    symlinkSync(home, inHome("up"));
    symlinkSync(inHome("machines/lathe.yaml"), inHome("inside.yaml"));
    const source = fileSource(inHome("cell.yaml"));
    for (const name of ["outside.yaml", "up/secret.yaml", "../secret.yaml"])
      expect(source.read(inHome(name))).toMatchObject({ problem: "outside" });
    expect(source.read(inHome("inside.yaml"))).toEqual({ text: "note: ü\n" });
    expect(fileSource(inHome("outside.yaml")).read(inHome("outside.yaml"))).toEqual({ text: "secret" });
  });

  it("is not misled by a folder whose name begins like the cell's", () => {
    mkdirSync(join(home, "cell-2"));
    writeFileSync(join(home, "cell-2", "a.yaml"), "x");
    symlinkSync(join(home, "cell-2", "a.yaml"), inHome("a.yaml"));
    mkdirSync(inHome("..data"));
    writeFileSync(inHome("..data/b.yaml"), "b");
    const source = fileSource(inHome("cell.yaml"));
    expect(source.read(inHome("a.yaml"))).toMatchObject({ problem: "outside" });
    expect(source.read(inHome("..data/b.yaml"))).toEqual({ text: "b" });
  });

  it("tells missing, folder, not a file, not text and too large apart", () => {
    const source = fileSource(inHome("cell.yaml"));
    writeFileSync(inHome("latin.yaml"), Buffer.from([0x66, 0xfc, 0x72]));
    writeFileSync(inHome("large.yaml"), Buffer.alloc(LARGEST_FILE + 1, "a"));
    writeFileSync(inHome("just.yaml"), Buffer.alloc(LARGEST_FILE, "a"));
    expect(source.read(inHome("none.yaml"))).toMatchObject({ problem: "missing" });
    expect(source.read(inHome("cell.yaml/x"))).toMatchObject({ problem: "missing" });
    expect(source.read(inHome("machines"))).toEqual({ problem: "unreadable", detail: "it is a folder" });
    expect(fileSource("/dev/zero").read("/dev/zero")).toEqual({
      problem: "unreadable",
      detail: "it is not a regular file",
    });
    expect(source.read(inHome("latin.yaml"))).toEqual({ problem: "unreadable", detail: "it is not UTF-8 text" });
    expect(source.read(inHome("large.yaml"))).toEqual({ problem: "too large", detail: "more than 5 MB" });
    expect(source.read(inHome("just.yaml"))).toHaveProperty("text");
    expect(source.read("a\u0000b")).toHaveProperty("problem");
  });
});

describe("writing a file whole", () => {
  it("replaces the old file only at the end", () => {
    const target = join(home, "page.html");
    writeFileSync(target, "old");
    const claimed = claimFile(target);
    expect(readFileSync(target, "utf8")).toBe("old");
    claimed.finish("new");
    claimed.discard();
    expect(readFileSync(target, "utf8")).toBe("new");
    expect(readdirSync(home)).toEqual(["page.html"]);
  });

  it("leaves nothing behind when it is given up", () => {
    claimFile(join(home, "a.html")).discard();
    claimFile(join(home, "b.html"));
    discardUnfinished();
    expect(readdirSync(home)).toEqual([]);
  });

  it("replaces the file that a link leads to, not the link", () => {
    writeFileSync(join(home, "real.html"), "old");
    symlinkSync(join(home, "real.html"), join(home, "link.html"));
    claimFile(join(home, "link.html")).finish("new");
    expect(readFileSync(join(home, "real.html"), "utf8")).toBe("new");
    expect(lstatSync(join(home, "link.html")).isSymbolicLink()).toBe(true);
  });

  it("does not write over cell files, folders and devices", () => {
    expect(() => claimFile(join(home, "cell.yaml"))).toThrow(/ends in \.html/);
    expect(() => claimFile("/dev/null")).toThrow(/not a regular file/);
    expect(readdirSync(home)).toEqual([]);
  });

  it("says at once why a place cannot be written", () => {
    expect(() => claimFile(join(home, "none", "a.html"))).toThrow(UnusableInput);
    expect(() => claimFile(join(home, "none", "a.html"))).toThrow(/does not exist/);
    expect(() => claimFile(home)).toThrow(/it is a folder/);
    expect(() => claimFile("")).toThrow(/the file name is empty/);
    writeFileSync(join(home, "file"), "");
    expect(() => claimFile(join(home, "file", "a.html"))).toThrow(/not a folder/);
    expect(readdirSync(home)).toEqual(["file"]);
  });
});
