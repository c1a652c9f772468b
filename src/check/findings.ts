/** Findings gathered in one list: each stated once, worst first, then in the order of the file. */
import type { Finding, Severity } from "../cell/finding.ts";
import type { Cell } from "../cell/model.ts";

type Path = readonly (string | number)[];

const RANK: Record<Severity, number> = { error: 0, warning: 1, caution: 2 };

export class FindingList {
  readonly #findings = new Map<string, Finding>();
  readonly #cell: Cell;

  constructor(cell: Cell) {
    this.#cell = cell;
  }

  /** Adds a finding; one of the same code at the same place about the same thing is stated once, by its first message. */
  add(code: string, severity: Severity, path: Path, message: string, mend: string, subject = ""): void {
    const where = pathText(path);
    const key = `${code}|${where}|${subject}`;
    if (this.#findings.has(key)) return;
    this.#findings.set(key, { code, severity, where, place: this.#cell.locate(path), message, mend });
  }

  sorted(): Finding[] {
    return [...this.#findings.values()].sort(
      (a, b) =>
        RANK[a.severity] - RANK[b.severity] ||
        compareText(a.place.file, b.place.file) ||
        a.place.line - b.place.line ||
        a.place.column - b.place.column ||
        compareText(a.code, b.code),
    );
  }
}

const compareText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

/** "routines.load[3].do[0]" */
function pathText(path: Path): string {
  return path.map((part, i) => (typeof part === "number" ? `[${part}]` : i === 0 ? part : `.${part}`)).join("");
}
