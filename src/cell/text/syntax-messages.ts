/** What the YAML reader's error codes mean to someone writing a cell file. */

interface SyntaxMessage {
  readonly expected: string;
  readonly mend: string;
}

const INDENT: SyntaxMessage = {
  expected: "entries of one map or list to begin in the same column",
  mend: "Line the entry up with its neighbours.",
};
const PLAIN: SyntaxMessage = {
  expected: "plain maps, lists and values",
  mend: "Leave out tags, properties and directives.",
};

const messages: Readonly<Record<string, SyntaxMessage>> = {
  TAB_AS_INDENT: { expected: "spaces", mend: "Replace the tab by spaces." },
  BAD_INDENT: INDENT,
  BLOCK_AS_IMPLICIT_KEY: {
    expected: "a key and its value",
    mend: "Put the nested map or list on lines of its own, further to the right, or write a value holding ': ' in quotes.",
  },
  BLOCK_IN_FLOW: {
    expected: "a value inside the brackets or braces",
    mend: 'Write a lone - in quotes ("-") or as the word minus; lists inside braces are written [a, b].',
  },
  MISSING_CHAR: {
    expected: "a closing quote, bracket or brace, or the ':' after a key",
    mend: "Complete it, or put text with special characters in quotes.",
  },
  BAD_SCALAR_START: { expected: "a value", mend: "Put a value that begins with this character in quotes." },
  BAD_DQ_ESCAPE: { expected: "a known escape after \\", mend: "Write \\\\ for a backslash, or use single quotes." },
  MULTILINE_IMPLICIT_KEY: {
    expected: "a key on one line",
    mend: "Close the quotes, brackets or braces of the line before.",
  },
  KEY_OVER_1024_CHARS: { expected: "a short key", mend: "Look for a missing line end before the ':'." },
  MULTIPLE_DOCS: { expected: "one document", mend: "Remove the --- or ... and what follows, or use include." },
  MULTIPLE_ANCHORS: { expected: "one anchor for a value", mend: "Remove the second &name." },
  ALIAS_PROPS: { expected: "an alias alone", mend: "Write *name without a tag or anchor." },
  BAD_ALIAS: { expected: "the name of an anchor", mend: "Write *name for an anchor &name, or put the text in quotes." },
  UNEXPECTED_TOKEN: { expected: "a key, a list entry or a value", mend: "Check quotes, brackets and the line before." },
  BAD_DIRECTIVE: PLAIN,
  BAD_PROP_ORDER: PLAIN,
  MULTIPLE_TAGS: PLAIN,
  TAG_RESOLVE_FAILED: { expected: "a value without a tag", mend: "Remove the tag (the word beginning with !)." },
  BAD_COLLECTION_TYPE: PLAIN,
};

export function syntaxMessage(code: string): SyntaxMessage {
  return (
    messages[code] ?? { expected: "well-formed YAML or JSON", mend: "Check quotes, brackets and indentation here." }
  );
}
