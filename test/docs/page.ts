/** Pages of the documentation as their fenced blocks, in order. */
import { readFileSync, writeFileSync } from "node:fs";

export interface Block {
  /** First word after the fence: "console", "yaml", "diff" … */
  readonly language: string;
  /** `file=cell.yaml` and the like after the first word. */
  readonly attributes: ReadonlyMap<string, string>;
  /** Line of the opening fence, counted from 1. */
  readonly line: number;
  lines: string[];
}

export interface Page {
  readonly path: string;
  readonly blocks: readonly Block[];
  /** Writes the page with the blocks as they are now. */
  save(): void;
}

export function readPage(path: string): Page {
  const lines = readFileSync(path, "utf8").split("\n");
  const blocks: Block[] = [];
  const spans: { from: number; to: number; block: Block }[] = [];
  for (let i = 0; i < lines.length; i++) {
    const fence = /^```(\S+)? ?(.*)$/.exec(lines[i]!);
    if (fence === null) continue;
    const from = i + 1;
    let to = from;
    while (to < lines.length && lines[to] !== "```") to++;
    const attributes = new Map([...(fence[2] ?? "").matchAll(/(\w+)=(\S+)/g)].map((m) => [m[1]!, m[2]!]));
    const block = { language: fence[1] ?? "", attributes, line: i + 1, lines: lines.slice(from, to) };
    blocks.push(block);
    spans.push({ from, to, block });
    i = to;
  }
  return {
    path,
    blocks,
    save() {
      const out = [...lines];
      for (const { from, to, block } of [...spans].reverse()) out.splice(from, to - from, ...block.lines);
      writeFileSync(path, out.join("\n"));
    },
  };
}
