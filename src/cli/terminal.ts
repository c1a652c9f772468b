/** What the terminal, or whatever stands in its place, can show. */
import picocolors from "picocolors";

export type Colors = ReturnType<typeof picocolors.createColors>;

/** How text is to be laid out. Plain data, so that it can cross between threads. */
export interface Layout {
  /** Columns, at least 40. */
  readonly width: number;
  readonly color: boolean;
  /** Only characters 32 to 126. */
  readonly ascii: boolean;
}

export interface TerminalFacts {
  readonly isTerminal: boolean;
  readonly columns: number | undefined;
  readonly env: Readonly<Record<string, string | undefined>>;
  /** `--ascii` was given. */
  readonly ascii: boolean;
}

/** Width when nothing states one. */
const DEFAULT_WIDTH = 120;

/**
 * Layout for an output. Colours only on a terminal that knows them and when NO_COLOR is unset or empty; drawn characters
 * beyond ASCII unless the locale names another encoding than UTF-8 or the terminal is "dumb".
 */
export function layoutFor(facts: TerminalFacts): Layout {
  const { env, isTerminal } = facts;
  const dumb = env["TERM"] === "dumb";
  const noColor = env["NO_COLOR"] !== undefined && env["NO_COLOR"] !== "";
  const locale = env["LC_ALL"] || env["LC_CTYPE"] || env["LANG"] || "";
  const namesOtherEncoding = locale !== "" && !/utf-?8/i.test(locale);
  const stated = Number(env["COLUMNS"]);
  const columns = facts.columns ?? (Number.isInteger(stated) && stated > 0 ? stated : DEFAULT_WIDTH);
  return {
    width: Math.max(40, columns),
    color: isTerminal && !noColor && !dumb,
    ascii: facts.ascii || dumb || (isTerminal && namesOtherEncoding),
  };
}

export const colorsFor = (layout: Layout): Colors => picocolors.createColors(layout.color);
