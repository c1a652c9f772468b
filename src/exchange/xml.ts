/** XML text as a tree of elements that know where they stand. No document type, no entities beyond XML's own five. */
import { SaxesParser } from "saxes";
import type { InputIssue, SourcePlace } from "../cell/issue.ts";

export interface XmlAttribute {
  readonly value: string;
  /** Offset in the text of the attribute's name. */
  readonly start: number;
}

export interface XmlElement {
  readonly name: string;
  /** Offset in the text of the opening "<". */
  readonly start: number;
  readonly attributes: ReadonlyMap<string, XmlAttribute>;
  readonly children: readonly XmlElement[];
}

export type XmlDocument =
  | { readonly ok: true; readonly root: XmlElement }
  | { readonly ok: false; readonly issue: InputIssue };

const LONGEST_TEXT = 1 << 24;
const MOST_ELEMENTS = 200_000;
const DEEPEST = 100;

/** Stops the parser from inside its own events; caught where the parser is run. */
class Stop {
  constructor(
    readonly code: string,
    readonly start: number,
    readonly found: string,
    readonly expected: string,
    readonly mend: string,
  ) {}
}

/** The document, or the first thing that makes it unreadable. Never throws. */
export function readXml(text: string, file: string): XmlDocument {
  try {
    return { ok: true, root: parse(text) };
  } catch (stop) {
    if (!(stop instanceof Stop)) throw stop;
    const { code, start, found, expected, mend } = stop;
    return { ok: false, issue: { code, path: "", place: placeIn(text, file, start), found, expected, mend } };
  }
}

/** Line and column (from 1, in UTF-16 units) of an offset. */
export function placeIn(text: string, file: string, offset: number): SourcePlace {
  const end = Math.max(0, Math.min(offset, text.length));
  let line = 1;
  let lineStart = 0;
  for (let i = text.indexOf("\n"); i >= 0 && i < end; i = text.indexOf("\n", i + 1)) {
    line++;
    lineStart = i + 1;
  }
  return { file, line, column: end - lineStart + 1 };
}

function parse(text: string): XmlElement {
  if (text.length > LONGEST_TEXT)
    throw new Stop(
      "too-large",
      0,
      `${text.length} characters`,
      `at most ${LONGEST_TEXT}`,
      "Keep meshes in their own files.",
    );
  const parser = new SaxesParser({ xmlns: false, position: true });
  const open: { name: string; start: number; attributes: Map<string, XmlAttribute>; children: XmlElement[] }[] = [];
  let root: XmlElement | undefined;
  let count = 0;
  const here = () => Math.max(0, parser.position - 1);

  parser.on("error", (error) => {
    const reason = error.message.replace(/^\d+:\d+: /, "");
    throw new Stop("not-xml", here(), reason, "well-formed XML", "Mend the XML at this place.");
  });
  parser.on("doctype", () => {
    const start = text.lastIndexOf("<!", here());
    throw new Stop(
      "doctype",
      start,
      "a document type",
      "none",
      "Take the <!DOCTYPE …> out; entities are not expanded.",
    );
  });
  parser.on("opentagstart", ({ name }) => {
    const start = text.lastIndexOf("<", here());
    if (++count > MOST_ELEMENTS)
      throw new Stop("too-large", start, `more than ${MOST_ELEMENTS} elements`, "fewer", "Split the file.");
    if (open.length >= DEEPEST)
      throw new Stop(
        "too-deep",
        start,
        `elements nested ${DEEPEST} deep`,
        "fewer levels",
        "Check for unclosed elements.",
      );
    open.push({ name, start, attributes: new Map(), children: [] });
  });
  parser.on("attribute", ({ name, value }) => {
    // The parser has just read the closing quote; the value holds no such quote, and stands behind the name.
    const closing = here();
    const opening = text.lastIndexOf(text[closing]!, closing - 1);
    const start = text.lastIndexOf(name, Math.max(0, opening));
    open.at(-1)!.attributes.set(name, { value, start: Math.max(0, start) });
  });
  parser.on("closetag", () => {
    const done = open.pop()!;
    const parent = open.at(-1);
    if (parent === undefined) root = done;
    else parent.children.push(done);
  });
  parser.write(text).close();
  if (root === undefined)
    throw new Stop("not-xml", 0, "no element", "well-formed XML", "Check that this is the right file.");
  return root;
}
