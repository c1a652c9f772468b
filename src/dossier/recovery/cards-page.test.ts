import { expect, it } from "vitest";
import type { CardProcedure, RecoveryCard } from "../../check/index.ts";
import { renderRecoveryCards, verdictWords } from "./cards-page.ts";

const procedure: CardProcedure = {
  cause: "stopped",
  verdict: "proved",
  reasons: [],
  trained: false,
  possible: ["in <gripper>: a raw part"],
  lines: [
    {
      kind: "set",
      when: "1: yes (part in gripper)",
      text: "Set grip (output, flange 0) off.",
      signal: "grip",
      wired: "flange 0",
      clearance_m: null,
    },
    { kind: "restart", when: null, text: "Start the routine.", signal: null, wired: null, clearance_m: null },
  ],
};
const card: RecoveryCard = {
  title: "load[3] to load[5]",
  steps: ["load[3]", "load[4]", "load[5]"],
  variants: ["short"],
  procedures: [procedure, { ...procedure, cause: "power lost" }],
};
const page = (cards: readonly RecoveryCard[]) =>
  renderRecoveryCards({ cell: "A & B", file: "cell.yaml", date: "2025-01-01", version: "0", cards });

it("a sheet for each card, its text escaped, the same lines told once", () => {
  const text = page([card, card]);
  expect(text.match(/class="sheet card"/g)).toHaveLength(2);
  expect(text).toContain("stopped in load[3] to load[5]");
  expect(text).toContain("in &lt;gripper&gt;: a raw part");
  expect(text).toContain("A &amp; B");
  expect(text.match(/Set grip \(output, flange 0\) off\./g)).toHaveLength(2);
  expect(text).toContain("The same lines as after a stop of the controller.");
  expect(text).toContain("Only if 1: yes (part in gripper)");
  expect(text).not.toMatch(/https?:/);
});

it("what is not proved is never stamped as proved", () => {
  const open = {
    ...card,
    procedures: [procedure, { ...procedure, verdict: "not proved" as const, reasons: ["Why."] }],
  };
  const text = page([open]);
  expect(text).toContain('<p class="stamp bad">not proved</p>');
  expect(text).not.toContain('class="stamp good"');
  expect(verdictWords(open)).toContain("not proved: Why.");
});
