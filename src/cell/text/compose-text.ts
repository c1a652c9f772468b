/**
 * YAML text to a document, with bounds. The parser works with a stack of its own, which can be watched; the composer after it and
 * the lexer at the start of a line recurse, so the text is given up before either could exhaust the call stack.
 */
import { Composer, type Document, Lexer, Parser } from "yaml";

/** Deepest stack of open maps, lists and keys in the parser; a map in a map takes one entry or two. */
const DEEPEST_STACK = 200;
/** Most lexemes: a cell of a thousand lines has some thirty thousand. Rubbish of brackets costs a parser the most. */
const MOST_LEXEMES = 150_000;
/** Most indicators "- ? :" in a row at the beginning of a line. */
const MOST_INDICATORS = 100;

export type Composed =
  | { readonly document: Document /** Where a second document begins. */; readonly second: number | undefined }
  | { readonly problem: "too deep" | "too much"; readonly at: number };

export function composeText(text: string): Composed {
  const indicators = indicatorRun(text);
  if (indicators >= 0) return { problem: "too deep", at: indicators };
  const parser = new Parser();
  const tokens: unknown[] = [];
  let lexemes = 0;
  for (const lexeme of new Lexer().lex(text)) {
    if (++lexemes > MOST_LEXEMES) return { problem: "too much", at: parser.offset };
    tokens.push(...parser.next(lexeme));
    if (parser.stack.length > DEEPEST_STACK) return { problem: "too deep", at: parser.offset };
  }
  tokens.push(...parser.end());
  const composer = new Composer({
    schema: "failsafe",
    version: "1.2",
    uniqueKeys: false,
    prettyErrors: false,
    logLevel: "error",
    strict: true,
  });
  let document: Document | undefined;
  let second: number | undefined;
  for (const one of composer.compose(tokens as Parameters<typeof composer.compose>[0], true, text.length)) {
    if (document === undefined) document = one as Document;
    else second ??= one.range[0];
  }
  // With `true` above the composer gives a document even for an empty text.
  return { document: document!, second };
}

/** Offset at which a run of block indicators is too long, -1 when none is. */
function indicatorRun(text: string): number {
  let run = 0;
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if (code === 0x20 || code === 0x09) continue;
    const next = text.charCodeAt(i + 1);
    const blank = next === 0x20 || next === 0x09 || next === 0x0a || next === 0x0d || Number.isNaN(next);
    const indicator = (code === 0x2d || code === 0x3f || code === 0x3a) && blank;
    if (!indicator) run = 0;
    else if (++run > MOST_INDICATORS) return i;
  }
  return -1;
}
