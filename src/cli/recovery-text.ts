/** Recovery cards as text for people. */
import { CARD_CAUTIONS, type CardReport, type RecoveryCard } from "../check/index.ts";
import { CAUSE_WORDS, verdictWords } from "../dossier/index.ts";
import { heading } from "./check-text.ts";
import { colorsFor, type Layout } from "./terminal.ts";
import { clean, paragraph } from "./text.ts";

export function recoveryText(cell: string, report: CardReport, layout: Layout): string {
  const colors = colorsFor(layout);
  const lines: string[] = [heading(`${cell}: recovery`, colors), ""];
  for (const [index, card] of report.cards.entries()) lines.push(...cardLines(card, index, layout), "");
  lines.push(heading("Cautions", colors));
  for (const text of CARD_CAUTIONS) lines.push(...paragraph(text, layout.width, "- ", "  "));
  if (report.assumptions.length > 0) {
    lines.push("", heading("Taken for granted", colors));
    for (const text of report.assumptions) lines.push(...paragraph(clean(text), layout.width, "- ", "  "));
  }
  const { proved, steps, cards } = report;
  lines.push("", `${proved} of ${steps} steps proved, ${cards.length} ${cards.length === 1 ? "card" : "cards"}`);
  return `${lines.join("\n")}\n`;
}

function cardLines(card: RecoveryCard, index: number, layout: Layout): string[] {
  const colors = colorsFor(layout);
  const proved = card.procedures.every(({ verdict }) => verdict === "proved");
  const verdict = proved ? colors.green("proved") : colors.red("not proved");
  const lines = [
    heading(`${index + 1}. Stopped in ${card.title}`, colors),
    `${verdict}  part ${clean(card.variants.join(", "))}`,
    ...paragraph(clean(verdictWords(card)), layout.width, "", ""),
  ];
  const done: string[] = [];
  for (const { cause, possible, lines: list } of card.procedures) {
    lines.push("", CAUSE_WORDS[cause]);
    if (possible.length > 0)
      lines.push(...paragraph(clean(`may be so: ${possible.join("; ")}`), layout.width, "  ", "  "));
    const text = JSON.stringify(list);
    if (done.includes(text)) {
      lines.push("  the same lines as above");
      continue;
    }
    done.push(text);
    for (const [k, { when, text: words }] of list.entries())
      lines.push(
        ...paragraph(
          clean(when === null ? words : `Only if ${when}: ${words}`),
          layout.width,
          `${String(k + 1).padStart(4)} `,
          "     ",
        ),
      );
  }
  return lines;
}
