/** Every transcript in the documentation is run and compared; with UPDATE_DOCS=1 the pages are written anew. */
import { spawn, spawnSync } from "node:child_process";
import { chmodSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { afterAll, beforeAll, describe, expect, inject, it } from "vitest";
import { type Block, readPage } from "../docs/page.ts";
import { allPages, root } from "../docs/pages.ts";
import { agrees, change, exchangesOf, matchShown, renewed } from "../docs/transcript.ts";
import { ended, run } from "./program.ts";

const UPDATE = process.env["UPDATE_DOCS"] === "1";
const hasPython = spawnSync("python3", ["--version"]).status === 0;

let bin: string;
const folders: string[] = [];

function folder(): string {
  const made = mkdtempSync(join(tmpdir(), "millhand-docs-"));
  folders.push(made);
  return made;
}

beforeAll(() => {
  bin = folder();
  writeFileSync(join(bin, "millhand"), `#!/bin/sh\nexec "${process.execPath}" "${inject("program")}" "$@"\n`);
  chmodSync(join(bin, "millhand"), 0o755);
});

afterAll(() => {
  for (const made of folders) rmSync(made, { recursive: true, force: true });
});

/** Does what a block asks for; the block is changed to what really comes out where the page is written anew. */
async function perform(block: Block, cwd: string, page: string, status: { last: number }): Promise<void> {
  const where = `${page}:${block.line}`;
  const name = block.attributes.get("file") ?? block.attributes.get("append");
  if (name !== undefined) {
    const file = join(cwd, name);
    const text = `${block.lines.join("\n")}\n`;
    if (block.language === "diff") writeFileSync(file, change(readFileSync(file, "utf8"), block.lines, where));
    else {
      mkdirSync(dirname(file), { recursive: true });
      writeFileSync(file, text, { flag: block.attributes.has("append") ? "a" : "w" });
    }
    return;
  }
  if (block.language !== "console") return;
  const lines: string[] = [];
  for (const { prompt, command, shown } of exchangesOf(block)) {
    const { NO_COLOR: _, FORCE_COLOR: __, ...env } = process.env;
    const ran = await ended(
      spawn("bash", ["-c", `exec 2>&1; (exit ${status.last}); ${command}`], {
        cwd,
        env: { ...env, COLUMNS: "100", LC_ALL: "C.UTF-8", PATH: `${bin}:${process.env["PATH"]}` },
      }),
    );
    status.last = ran.status ?? -1;
    const printed = ran.stdout.split("\n").map((line) => line.trimEnd());
    while (printed.at(-1) === "") printed.pop();
    if (matchShown(shown, printed, agrees) !== undefined) lines.push(...prompt, ...shown);
    else {
      // Shown nothing yet: show all of it, to be shortened by hand.
      const fresh = !UPDATE ? undefined : shown.length === 0 ? printed : renewed(shown, printed);
      if (fresh === undefined) expect(printed.join("\n"), `${where}: ${command}`).toBe(shown.join("\n"));
      lines.push(...prompt, ...(fresh ?? shown));
    }
  }
  block.lines = lines;
}

describe.concurrent("transcripts in the documentation are true", () => {
  const pages = allPages().map((path) => ({ path, page: readPage(join(root, path)) }));
  const withCommands = pages.filter(({ page }) => page.blocks.some((block) => block.language === "console"));
  it("there are some", () => expect(withCommands.length).toBeGreaterThan(4));
  for (const { path, page } of withCommands) {
    const python = page.blocks.some((block) => /^\$.*\bpython3\b/m.test(block.lines.join("\n")));
    // Without Python the page that calls Millhand from it cannot be run.
    it.skipIf(python && !hasPython)(path, { timeout: 180_000 }, async () => {
      const cwd = folder();
      symlinkSync(join(root, "examples"), join(cwd, "examples"));
      const status = { last: 0 };
      for (const block of page.blocks) await perform(block, cwd, path, status);
      if (UPDATE) page.save();
    });
  }
});

describe("the reference of commands", () => {
  const reference = readFileSync(join(root, "docs", "reference", "commands.md"), "utf8");

  it("names every command and every option that the help names", async () => {
    const top = (await run(["--help"])).stdout;
    const commands = [...top.matchAll(/^ {2}([a-z]+)\b/gm)].map((m) => m[1]!);
    expect(commands).toContain("check");
    const missing: string[] = [];
    for (const command of commands) {
      if (!new RegExp(`\`${command}\\b`).test(reference)) missing.push(command);
      const help = command === "help" ? "" : (await run(["help", command])).stdout;
      for (const [, option] of help.matchAll(/^ {2}(?:-\w, )?(--[a-z-]+)/gm))
        if (!reference.includes(`\`${option}`)) missing.push(`${command} ${option}`);
    }
    for (const [, option] of top.matchAll(/^ {2}(?:-\w, )?(--[a-z-]+)/gm))
      if (!reference.includes(option!)) missing.push(option!);
    expect(missing).toEqual([]);
  });

  it("names no option that the help does not name", async () => {
    const top = (await run(["--help"])).stdout;
    const commands = [...top.matchAll(/^ {2}([a-z]+)\b/gm)].map((m) => m[1]!).filter((c) => c !== "help");
    const helps = await Promise.all(commands.map(async (command) => (await run(["help", command])).stdout));
    const known = [top, ...helps].join("\n");
    const named = [...reference.matchAll(/`(--[a-z-]+)/g)].map((m) => m[1]!);
    expect(named.filter((option) => !known.includes(option))).toEqual([]);
  });

  it("names every field of cycle --json", async () => {
    const { stdout } = await run(["cycle", "examples/mill/cell.yaml", "--json"]);
    const fields = new Set<string>();
    const collect = (value: unknown): void => {
      if (Array.isArray(value)) for (const entry of value) collect(entry);
      else if (typeof value === "object" && value !== null)
        for (const [key, inner] of Object.entries(value)) {
          fields.add(key);
          // The keys of the shares are lanes of the cell.
          if (key !== "shares") collect(inner);
        }
    };
    collect(JSON.parse(stdout));
    expect(fields.size).toBeGreaterThan(25);
    expect([...fields].filter((field) => !reference.includes(`\`${field}\``))).toEqual([]);
  });
});
