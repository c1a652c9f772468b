/** Plain text laid out in columns: cleaning, cutting, wrapping, tables. Widths count code points. */

/** Takes out what would move the cursor or change colours, so that a name in a cell file cannot. */
export function clean(text: string): string {
  return text.replaceAll(/[\p{Cc}\p{Cs}\u2028\u2029\u202a-\u202e\u2066-\u2069]+/gu, " ");
}

const lengthOf = (text: string): number => [...text].length;

/** Cuts text to a width, with an ellipsis where something is missing. */
export function cut(text: string, width: number, ascii: boolean): string {
  const characters = [...text];
  if (characters.length <= width) return text;
  const mark = ascii ? "~" : "…";
  return width <= 1 ? mark.slice(0, width) : characters.slice(0, width - 1).join("") + mark;
}

/** Breaks text into lines of at most `width`, at spaces where there are any. */
export function wrap(text: string, width: number): string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(/\s+/).filter((w) => w !== "")) {
    let rest = word;
    if (line !== "" && lengthOf(line) + 1 + lengthOf(rest) <= width) {
      line += ` ${rest}`;
      continue;
    }
    if (line !== "") lines.push(line);
    while (lengthOf(rest) > width) {
      const characters = [...rest];
      lines.push(characters.slice(0, width).join(""));
      rest = characters.slice(width).join("");
    }
    line = rest;
  }
  if (line !== "") lines.push(line);
  return lines;
}

/** Wrapped text behind a first and a following indent. */
export function paragraph(text: string, width: number, first: string, following: string): string[] {
  const room = Math.max(20, width - Math.max(lengthOf(first), lengthOf(following)));
  return wrap(text, room).map((line, i) => (i === 0 ? first : following) + line);
}

export interface Column {
  readonly title: string;
  readonly align: "left" | "right";
  /** Width down to which it may be cut when the table is too wide; the column with most above its own gives way first. */
  readonly atLeast?: number;
  /** Left out when the table is too wide even so: the largest number first. */
  readonly dropped?: number;
}

/** Rows as aligned text; the first line is the header. Two spaces between columns. */
export function table(
  columns: readonly Column[],
  rows: readonly (readonly string[])[],
  width: number,
  ascii: boolean,
): string[] {
  let kept = columns.map((_, i) => i);
  const natural = columns.map((column, i) =>
    rows.reduce((widest, row) => Math.max(widest, lengthOf(row[i]!)), lengthOf(column.title)),
  );
  const least = (i: number) => Math.min(columns[i]!.atLeast ?? Number.POSITIVE_INFINITY, natural[i]!);
  const total = (of: (i: number) => number) => kept.reduce((sum, i) => sum + of(i), 0) + 2 * (kept.length - 1);
  while (total(least) > width) {
    const dropped = (i: number) => columns[i]!.dropped ?? 0;
    const first = kept.reduce((most, i) => (dropped(i) > dropped(most) ? i : most));
    if (dropped(first) === 0) break;
    kept = kept.filter((i) => i !== first);
  }
  const widths = [...natural];
  for (let over = total((i) => widths[i]!) - width; over > 0; over--) {
    const spare = (i: number) => widths[i]! - least(i);
    const widest = kept.reduce((most, i) => (spare(i) > spare(most) ? i : most));
    if (spare(widest) <= 0) break;
    widths[widest]!--;
  }
  const lay = (cells: readonly string[]) =>
    kept
      .map((i) => {
        const text = cut(cells[i]!, widths[i]!, ascii);
        const pad = " ".repeat(widths[i]! - lengthOf(text));
        return columns[i]!.align === "right" ? pad + text : text + pad;
      })
      .join("  ")
      .trimEnd();
  return [lay(columns.map((c) => c.title)), ...rows.map(lay)];
}
