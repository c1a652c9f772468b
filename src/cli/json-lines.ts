/**
 * JSON Lines in, JSON Lines out: one record per line, answered in order, in memory that does not grow with the input.
 * Lines are answered chunk by chunk; reading pauses while the reader of the output is behind.
 */
import type { Readable, Writable } from "node:stream";
import { UnusableInput } from "./exit-status.ts";
import { reasonOf } from "./whole-file.ts";

/** Longest line that is read, characters. A longer one is refused without being kept. */
export const LONGEST_LINE = 1 << 20;
/** Bad lines reported one by one on stderr; the rest are counted. Every one of them is marked in the output. */
const REPORTED_LINES = 100;

/** Why a record cannot be answered. */
export interface LineProblem {
  readonly found: string;
  readonly expected: string;
}

/** Answers one record with the fields of its output line as JSON text, such as `"pose":[…]`. */
export type LineWork = (record: Readonly<Record<string, unknown>>) => string | LineProblem;

export interface JsonLinesOptions {
  readonly input: Readable;
  readonly output: Writable;
  /** Told about bad lines: "line 3: found …; expected …". */
  readonly report: (message: string) => void;
  readonly work: LineWork;
  /** One JSON document {"schemaVersion":1,"results":[…]} in place of lines. */
  readonly asDocument: boolean;
}

export interface JsonLinesOutcome {
  readonly lines: number;
  readonly bad: number;
}

/** Runs `work` over every line of the input. */
export async function mapJsonLines(options: JsonLinesOptions): Promise<JsonLinesOutcome> {
  const { input, output, work, asDocument } = options;
  let number = 0;
  let answered = 0;
  let bad = 0;
  let batch = asDocument ? '{"schemaVersion":1,"results":[\n' : "";

  const put = (line: string) => {
    if (asDocument) batch += answered++ === 0 ? line : `,\n${line}`;
    else {
      answered++;
      batch += `${line}\n`;
    }
  };
  const refuse = (id: string, problem: LineProblem) => {
    bad++;
    const message = `found ${problem.found}; expected ${problem.expected}`;
    if (bad <= REPORTED_LINES) options.report(`line ${number}: ${message}`);
    put(`{"id":${id},"error":${JSON.stringify(`line ${number}: ${message}`)}}`);
  };
  const answer = (line: string) => {
    number++;
    if (line.length > LONGEST_LINE) {
      refuse("null", { found: "a line that is too long", expected: `at most ${LONGEST_LINE} characters` });
      return;
    }
    let record: unknown;
    try {
      record = JSON.parse(line);
    } catch {
      if (line.trim() !== "")
        refuse("null", { found: `${excerpt(line)}, which is not JSON`, expected: "a JSON object" });
      return;
    }
    if (typeof record !== "object" || record === null || Array.isArray(record)) {
      refuse("null", { found: excerpt(line), expected: "a JSON object" });
      return;
    }
    const id = JSON.stringify((record as { id?: unknown }).id ?? null);
    const result = work(record as Record<string, unknown>);
    if (typeof result === "string") put(`{"id":${id},${result}}`);
    else refuse(id, result);
  };

  const decoder = new TextDecoder("utf-8", { ignoreBOM: false });
  let rest = "";
  let skipping = false;
  const take = (text: string) => {
    let from = 0;
    for (let end = text.indexOf("\n"); end !== -1; end = text.indexOf("\n", from)) {
      if (skipping) skipping = false;
      else if (rest === "") answer(text.slice(from, end));
      else {
        answer(rest + text.slice(from, end));
        rest = "";
      }
      from = end + 1;
    }
    if (from < text.length && !skipping) {
      rest += text.slice(from);
      if (rest.length > LONGEST_LINE) {
        answer(rest);
        rest = "";
        skipping = true;
      }
    }
  };

  for await (const chunk of chunksOf(input)) {
    take(decoder.decode(chunk, { stream: true }));
    if (batch.length > 0) {
      const text = batch;
      batch = "";
      if (!output.write(text)) await drained(output);
    }
  }
  take(decoder.decode());
  if (rest !== "") answer(rest);
  if (asDocument) batch += answered === 0 ? "]}\n" : "\n]}\n";
  // Even when empty: its callback comes after everything before it has been written.
  await new Promise<void>((resolve) => output.write(batch, () => resolve()));
  if (bad > REPORTED_LINES) options.report(`${bad - REPORTED_LINES} more bad lines, each marked in the output`);
  return { lines: number, bad };
}

/** Chunks of the input. @throws UnusableInput when it cannot be read; errors of the consumer pass through */
async function* chunksOf(input: Readable): AsyncGenerator<Uint8Array> {
  const iterator: AsyncIterator<Uint8Array> = input[Symbol.asyncIterator]();
  for (;;) {
    let next: IteratorResult<Uint8Array>;
    try {
      next = await iterator.next();
    } catch (error) {
      throw new UnusableInput(`cannot read the standard input: ${reasonOf(error)}`);
    }
    if (next.done === true) return;
    yield next.value;
  }
}

/** Resolves when the output can take more. A closed output never does; the caller has then been told through "error". */
function drained(output: Writable): Promise<void> {
  return new Promise((resolve) => {
    const done = () => {
      output.off("drain", done);
      output.off("close", done);
      resolve();
    };
    output.on("drain", done);
    output.on("close", done);
  });
}

/** A value for a message, cut short. */
export function excerpt(text: string): string {
  const clean = text.trim().replaceAll(/\p{Cc}+/gu, " ");
  return clean.length <= 60 ? clean : `${clean.slice(0, 57)}…`;
}
