/**
 * Text to the tree of a formula. Operators from loose to tight: `implies` (groups to the right), `or`, `and`, `not`, comparisons
 * (`=`, `!=`, `<`, `<=`, `>`, `>=`), `+ -`, `* div mod`, `-`, and `if … then … else …`. Never throws.
 */
import type { Arithmetic, Assignment, Comparison, Expression } from "./expression.ts";

export interface SyntaxProblem {
  readonly offset: number;
  readonly found: string;
  readonly expected: string;
  readonly mend: string;
}

export type Parsed<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly problem: SyntaxProblem };

interface Token {
  readonly kind: "number" | "word" | "sign" | "end";
  readonly text: string;
  readonly at: number;
}

/** Longest formula, characters; deepest nesting. */
const LONGEST = 4000;
const DEEPEST = 100;

const TOKEN = /\s*(?:(\d[\w.]*)|([A-Za-z_]\w*)|(:=|!=|<>|<=|>=|==|&&|\|\||[-+*/%()[\].,<>=!&|:]))/y;
const WORDS = new Set([
  "and",
  "or",
  "not",
  "implies",
  "div",
  "mod",
  "if",
  "then",
  "else",
  "true",
  "false",
  "count",
  "self",
]);

/** Words of the language, which cannot be names. `self` stands for a number, but cannot be declared. */
export const reservedWords: ReadonlySet<string> = WORDS;

/** Signs that people write and that are not ours, with ours. */
const otherSigns: ReadonlyMap<string, string> = new Map([
  ["&&", "and"],
  ["&", "and"],
  ["||", "or"],
  ["|", "or"],
  ["!", "not"],
  ["/", "div"],
  ["%", "mod"],
]);

class Failure {
  readonly problem: SyntaxProblem;
  constructor(problem: SyntaxProblem) {
    this.problem = problem;
  }
}

/** A condition or a value. */
export function parseFormula(text: string): Parsed<Expression> {
  return attempt(text, (parser) => parser.formula());
}

/** "n := n + 1". */
export function parseAssignment(text: string): Parsed<Assignment> {
  return attempt(text, (parser) => parser.assignment());
}

function attempt<T>(text: string, read: (parser: Parser) => T): Parsed<T> {
  try {
    const parser = new Parser(tokens(text));
    const value = read(parser);
    parser.end();
    return { ok: true, value };
  } catch (error) {
    if (error instanceof Failure) return { ok: false, problem: error.problem };
    throw error;
  }
}

function fail(offset: number, found: string, expected: string, mend: string): never {
  throw new Failure({ offset, found, expected, mend });
}

function tokens(text: string): Token[] {
  if (text.length > LONGEST)
    fail(0, `a formula of ${text.length} characters`, `at most ${LONGEST}`, "Split it, or use a variable.");
  const out: Token[] = [];
  let at = 0;
  for (;;) {
    TOKEN.lastIndex = at;
    const match = TOKEN.exec(text);
    if (match === null) break;
    const start = match[0].length - match[0].trimStart().length + at;
    at = TOKEN.lastIndex;
    if (match[1] !== undefined) {
      if (!/^\d+$/.test(match[1]))
        fail(
          start,
          match[1],
          "a whole number",
          /^\d+[A-Za-z]/.test(match[1])
            ? "Leave out the unit: time counts in the units of the file."
            : "Write a whole number; choose a smaller unit of time if need be.",
        );
      out.push({ kind: "number", text: match[1], at: start });
    } else if (match[2] !== undefined) out.push({ kind: "word", text: match[2], at: start });
    else out.push({ kind: "sign", text: match[3]!, at: start });
  }
  const rest = text.slice(at);
  if (rest.trim() !== "") {
    const start = at + rest.length - rest.trimStart().length;
    fail(start, text[start]!, "a number, a name or an operator", "Remove this sign.");
  }
  out.push({ kind: "end", text: "the end", at: text.length });
  return out;
}

class Parser {
  readonly #tokens: readonly Token[];
  #next = 0;
  #depth = 0;

  constructor(list: readonly Token[]) {
    this.#tokens = list;
  }

  get #token(): Token {
    return this.#tokens[this.#next]!;
  }

  #is(text: string): boolean {
    return this.#token.text === text && this.#token.kind !== "end";
  }

  #take(text: string): boolean {
    if (!this.#is(text)) return false;
    this.#next++;
    return true;
  }

  #need(text: string, after: string): void {
    if (this.#take(text)) return;
    this.#unexpected(`${text} ${after}`, `Write ${text} here, or remove what stands before it.`);
  }

  #unexpected(expected: string, mend: string): never {
    const { text, at, kind } = this.#token;
    const meant = kind === "sign" ? otherSigns.get(text) : undefined;
    const clearer = text === ":=" ? "Write = to compare; := is for updates." : mend;
    fail(
      at,
      kind === "end" ? "the end of the formula" : text,
      expected,
      meant ? `Write ${meant} for ${text}.` : clearer,
    );
  }

  end(): void {
    if (this.#token.kind === "end") return;
    const { text } = this.#token;
    const afterNumber = this.#tokens[this.#next - 1]?.kind === "number";
    this.#unexpected(
      "an operator, or the end",
      /^(=|==|!=|<>|<|<=|>|>=)$/.test(text)
        ? "Join two comparisons with and."
        : afterNumber && /^(ms|s|min|h)$/.test(text)
          ? "Leave out the unit: time counts in the units of the file."
          : "Write an operator before it, or remove it.",
    );
  }

  formula(): Expression {
    if (++this.#depth > DEEPEST)
      fail(this.#token.at, "nesting too deep", `at most ${DEEPEST} levels`, "Use a variable for a part of it.");
    const left = this.#or();
    const { at } = this.#token;
    const whole: Expression = this.#take("implies")
      ? { kind: "join", op: "implies", left, right: this.formula(), at }
      : left;
    this.#depth--;
    return whole;
  }

  #or(): Expression {
    let left = this.#and();
    for (let { at } = this.#token; this.#take("or"); { at } = this.#token)
      left = { kind: "join", op: "or", left, right: this.#and(), at };
    return left;
  }

  #and(): Expression {
    let left = this.#not();
    for (let { at } = this.#token; this.#take("and"); { at } = this.#token)
      left = { kind: "join", op: "and", left, right: this.#not(), at };
    return left;
  }

  #not(): Expression {
    const { at } = this.#token;
    let count = 0;
    while (this.#take("not")) count++;
    let of = this.#comparison();
    for (; count > 0; count--) of = { kind: "not", of, at };
    return of;
  }

  #comparison(): Expression {
    const left = this.#sum();
    const { text, at, kind } = this.#token;
    if (kind !== "sign" || !/^(=|==|!=|<>|<|<=|>|>=)$/.test(text)) return left;
    this.#next++;
    const op = (text === "==" ? "=" : text === "<>" ? "!=" : text) as Comparison;
    return { kind: "compare", op, left, right: this.#sum(), at };
  }

  #sum(): Expression {
    let left = this.#product();
    for (;;) {
      const { text, at } = this.#token;
      if (!this.#take("+") && !this.#take("-")) return left;
      left = { kind: "arithmetic", op: text as Arithmetic, left, right: this.#product(), at };
    }
  }

  #product(): Expression {
    let left = this.#factor();
    for (;;) {
      const { text, at } = this.#token;
      if (!this.#take("*") && !this.#take("div") && !this.#take("mod")) return left;
      left = { kind: "arithmetic", op: text as Arithmetic, left, right: this.#factor(), at };
    }
  }

  #factor(): Expression {
    const { text, at, kind } = this.#token;
    if (kind === "number") {
      this.#next++;
      const value = Number(text);
      if (value > LARGEST) fail(at, text, `a number of at most ${LARGEST}`, "Choose a larger unit of time.");
      return { kind: "number", value, at };
    }
    if (this.#is("-")) {
      this.#next++;
      if (++this.#depth > DEEPEST)
        fail(at, "nesting too deep", `at most ${DEEPEST} levels`, "Use a variable for a part of it.");
      const of = this.#factor();
      this.#depth--;
      return { kind: "minus", of, at };
    }
    if (this.#take("(")) {
      const inside = this.formula();
      this.#need(")", `for the ( before`);
      return inside;
    }
    if (this.#take("true")) return { kind: "truth", value: true, at };
    if (this.#take("false")) return { kind: "truth", value: false, at };
    if (this.#take("if")) {
      const test = this.formula();
      this.#need("then", "after the condition");
      const yes = this.formula();
      this.#need("else", "after the first value");
      return { kind: "choice", test, yes, otherwise: this.formula(), at };
    }
    if (this.#take("count")) {
      this.#need("(", "after count");
      const automaton = this.#word("the name of an automaton");
      this.#need(".", "between automaton and location");
      const location = this.#word("the name of a location");
      this.#need(")", "after the location");
      return { kind: "count", automaton, location, at };
    }
    if (kind === "word" && (text === "self" || !WORDS.has(text))) return this.name();
    return this.#unexpected("a number, a name or (", "Complete the formula.");
  }

  name(): Extract<Expression, { kind: "name" }> {
    const { at } = this.#token;
    const name = this.#word("a name");
    const index = this.#index();
    if (!this.#take(".")) return { kind: "name", name, at, ...(index ? { index } : {}) };
    const member = this.#word("the name of a location, variable or clock");
    const memberIndex = this.#index();
    return { kind: "name", name, member, at, ...(index ? { index } : {}), ...(memberIndex ? { memberIndex } : {}) };
  }

  #index(): Expression | undefined {
    if (!this.#take("[")) return undefined;
    const index = this.formula();
    this.#need("]", "after the index");
    return index;
  }

  #word(expected: string): string {
    const { kind, text } = this.#token;
    if (kind !== "word" || (WORDS.has(text) && text !== "self")) this.#unexpected(expected, `Write ${expected}.`);
    this.#next++;
    return text;
  }

  assignment(): Assignment {
    const target = this.name();
    if (!this.#take(":=")) this.#unexpected(":= after the variable", "Write it as: n := n + 1.");
    return { target, value: this.formula() };
  }
}

/** Largest constant: sums of several fit into the bounds of a zone. */
export const LARGEST = 50_000_000;
