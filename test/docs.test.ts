/** The documentation against the sources: links, codes of findings, fields of the report, cells shown whole. */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import ts from "typescript";
import { describe, expect, it } from "vitest";
import { loadCell } from "../src/cell/index.ts";
import { readPage } from "./docs/page.ts";
import { allPages, root } from "./docs/pages.ts";

const read = (...path: string[]) => readFileSync(join(root, ...path), "utf8");
const parse = (path: string) => ts.createSourceFile(path, read(path), ts.ScriptTarget.ES2023, true);

function visit(node: ts.Node, see: (node: ts.Node) => void): void {
  see(node);
  ts.forEachChild(node, (child) => visit(child, see));
}

/** Anchor of a heading, as repositories show them. */
const anchorOf = (heading: string) =>
  heading
    .toLowerCase()
    .replaceAll(/[^\p{L}\p{N}\s_-]/gu, "")
    .replaceAll(" ", "-");

describe("links", () => {
  it.each(allPages())("of %s lead somewhere", (page) => {
    const text = read(page).replaceAll(/^```[\s\S]*?^```$/gm, "");
    const dead: string[] = [];
    for (const [, target] of text.matchAll(/\]\(([^)\s]+)\)/g)) {
      if (/^[a-z]+:/.test(target!)) continue;
      const [path, anchor] = target!.split("#");
      const file = path === "" ? page : join(dirname(page), path!);
      if (!existsSync(join(root, file))) dead.push(target!);
      else if (anchor !== undefined) {
        const anchors = [...read(file).matchAll(/^#+ (.*)$/gm)].map((m) => anchorOf(m[1]!));
        if (!anchors.includes(anchor)) dead.push(target!);
      }
    }
    expect(dead).toEqual([]);
  });
});

it.each(allPages())("files named in %s are there", (page) => {
  const named = [...read(page).matchAll(/`((?:src|test|bench|docs|examples|scripts)\/[\w./-]+)`/g)].map((m) => m[1]!);
  expect(named.filter((file) => !existsSync(join(root, file)))).toEqual([]);
});

describe("findings.md", () => {
  const rows = [...read("docs", "reference", "findings.md").matchAll(/^\| `([a-z-]+)` \| ([a-z ]+) \|/gm)];
  const documented = new Map(rows.map((m) => [m[1]!, m[2]!]));

  it("has every code of the sources, and no other", () => {
    expect([...documented.keys()].sort()).toEqual([...codesInSources()].sort());
  });

  it("states each once, with a severity that the sources give to it where they say so literally", () => {
    expect(rows).toHaveLength(documented.size);
    for (const [code, severity] of severitiesInSources()) expect(`${code} ${documented.get(code)}`).toContain(severity);
  });
});

/**
 * Codes as the sources write them: every word-with-dashes in the floors that report findings, every plain word given as a
 * code, and the kinds of motion failures and notes.
 */
function codesInSources(): Set<string> {
  const codes = new Set<string>();
  for (const source of reportingSources()) {
    visit(source, (node) => {
      if (!ts.isStringLiteral(node) || ts.isImportDeclaration(node.parent) || ts.isExportDeclaration(node.parent))
        return;
      const isCode = ts.isPropertyAssignment(node.parent) && node.parent.name.getText() === "code";
      const isAdded = ts.isCallExpression(node.parent) && node.parent.expression.getText().endsWith("findings.add");
      const first = isAdded && (node.parent as ts.CallExpression).arguments[0] === node;
      if (isCode || first || /^[a-z]+(-[a-z]+)+$/.test(node.text)) codes.add(node.text);
    });
  }
  for (const kind of kindsOf("MotionFailureKind")) codes.add(kind);
  for (const kind of kindsOf("MotionNote")) codes.add(kind);
  return codes;
}

/** Severities that stand beside a literal code. */
function severitiesInSources(): [code: string, severity: string][] {
  const found: [string, string][] = [];
  for (const source of reportingSources()) {
    visit(source, (node) => {
      if (ts.isCallExpression(node)) {
        const [code, severity] = node.arguments;
        if (code && severity && ts.isStringLiteral(code) && ts.isStringLiteral(severity))
          if (/^(error|warning|caution)$/.test(severity.text)) found.push([code.text, severity.text]);
      }
      if (ts.isObjectLiteralExpression(node)) {
        const value = (name: string) =>
          node.properties.find(
            (p): p is ts.PropertyAssignment => ts.isPropertyAssignment(p) && p.name.getText() === name,
          )?.initializer;
        const [code, severity] = [value("code"), value("severity")];
        if (code && severity && ts.isStringLiteral(code) && ts.isStringLiteral(severity))
          found.push([code.text, severity.text]);
      }
    });
  }
  expect(found.length).toBeGreaterThan(40);
  return found;
}

function reportingSources(): ts.SourceFile[] {
  return ["cycle", "check", "wiring"].flatMap((floor) =>
    readdirSync(join(root, "src", floor), { recursive: true, encoding: "utf8" })
      .filter((file) => file.endsWith(".ts") && !file.endsWith(".test.ts"))
      .map((file) => parse(join("src", floor, file))),
  );
}

/** The words of a union type of the motion floor, or of the `kind` of an interface, as codes. */
function kindsOf(name: string): string[] {
  const kinds: string[] = [];
  visit(parse(join("src", "motion", "types.ts")), (node) => {
    const is = (ts.isTypeAliasDeclaration(node) || ts.isInterfaceDeclaration(node)) && node.name.text === name;
    if (is) visit(node, (n) => ts.isLiteralTypeNode(n) && ts.isStringLiteral(n.literal) && kinds.push(n.literal.text));
  });
  expect(kinds.length).toBeGreaterThan(2);
  return kinds.map((kind) => kind.replaceAll(" ", "-"));
}

describe("check-json.md", () => {
  const named = new Set(
    [...read("docs", "reference", "check-json.md").matchAll(/`([a-zA-Z_0-9]+)`/g)].map((m) => m[1]!),
  );

  it("names every field of the report", () => {
    const fields = new Set<string>();
    const collect = (path: string, only?: string) =>
      visit(parse(path), (node) => {
        if (!ts.isPropertySignature(node)) return;
        const owner = ts.findAncestor(node, ts.isInterfaceDeclaration)?.name.text;
        if (only === undefined || owner === only) fields.add(node.name.getText());
      });
    collect(join("src", "check", "result.ts"));
    collect(join("src", "cell", "finding.ts"), "Finding");
    // The place is given as file, line and column.
    fields.delete("place");
    expect(fields.size).toBeGreaterThan(40);
    expect([...fields].filter((field) => !named.has(field))).toEqual([]);
  });
});

describe("cells shown whole in the documentation", () => {
  const cells = allPages().flatMap((page) =>
    readPage(join(root, page))
      .blocks.filter((b) => b.language === "yaml" && !b.attributes.has("file") && /^cell:/m.test(b.lines.join("\n")))
      .map((block) => ({ where: `${page}:${block.line}`, text: `${block.lines.join("\n")}\n` })),
  );

  it("there are some", () => expect(cells.length).toBeGreaterThan(0));

  it.each(cells)("$where loads", ({ text }) => {
    const loaded = loadCell("cell.yaml", { read: () => ({ text }) });
    expect(loaded.ok ? [] : loaded.issues).toEqual([]);
  });
});
