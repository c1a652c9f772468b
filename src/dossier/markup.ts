/** Markup as a tagged template: every value put into it is escaped, unless it is markup itself. */

const entities: Readonly<Record<string, string>> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "'": "&#39;",
};

/** Text escaped for element content and quoted attributes. Characters that no document may hold are replaced. */
export function escapeText(text: string): string {
  return (
    text
      // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is taken out
      .replaceAll(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f\ufffe\uffff]/g, "\ufffd")
      .replaceAll(/\p{Cs}/gu, "\ufffd")
      .replaceAll(/[&<>"']/g, (character) => entities[character]!)
  );
}

/** Text that is already markup. */
export class Markup {
  readonly text: string;
  constructor(text: string) {
    this.text = text;
  }
}

type Value = Markup | string | number | readonly (Markup | string | number)[] | undefined | false;

/** Markup from a template. Arrays are joined; undefined and false leave nothing. @example html`<td>${name}</td>` */
export function html(parts: TemplateStringsArray, ...values: readonly Value[]): Markup {
  let text = parts[0]!;
  for (const [i, value] of values.entries()) text += asText(value) + parts[i + 1]!;
  return new Markup(text);
}

function asText(value: Value): string {
  if (value === undefined || value === false) return "";
  if (value instanceof Markup) return value.text;
  if (typeof value === "string") return escapeText(value);
  if (typeof value === "number") return String(value);
  return value.map((entry) => asText(entry)).join("");
}

/** JSON that may stand inside a script element: no character sequence in it can end the element or open a comment. */
export function scriptJson(value: unknown): Markup {
  const text = JSON.stringify(value)
    .replaceAll("<", "\\u003c")
    .replaceAll(">", "\\u003e")
    .replaceAll("&", "\\u0026")
    .replaceAll("\u2028", "\\u2028")
    .replaceAll("\u2029", "\\u2029");
  return new Markup(text);
}
