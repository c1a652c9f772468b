/** Recovery cards as pages to print: one sheet for each card, in the look of the check's sheet. */
import { CARD_CAUTIONS, type CardLine, type CardProcedure, type RecoveryCard } from "../../check/index.ts";
import { html, Markup } from "../markup.ts";
import { PAGE_STYLE } from "../page-style.ts";

export interface CardsPageData {
  readonly cell: string;
  /** Path of the cell file as it was given. */
  readonly file: string;
  readonly date: string;
  readonly version: string;
  readonly cards: readonly RecoveryCard[];
}

/** Words for a cause, as a heading. */
export const CAUSE_WORDS = {
  stopped: "After a stop of the controller",
  "power lost": "After a loss of power",
} as const;

/** The cards as one HTML document, a sheet of paper for each. All text from the cell file is escaped; no network address is in it. */
export function renderRecoveryCards(data: CardsPageData): string {
  const page = html`<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>${data.cell}: recovery cards</title>
<style>${new Markup(PAGE_STYLE)}${new Markup(CARD_STYLE)}</style></head>
<body>${data.cards.map((card, i) => sheet(card, i, data))}</body></html>
`;
  return `<!doctype html>\n${page.text}`;
}

const CARD_STYLE = `
.card+.card{break-before:page}
.card h1{font-size:25px}
.lines{counter-reset:line;list-style:none;margin:0;padding:0}
.lines li{counter-increment:line;display:grid;grid-template-columns:34px 1fr;gap:0 10px;padding:6px 0;border-bottom:1px solid var(--line);break-inside:avoid}
.lines li:last-child{border-bottom:0}
.lines li::before{content:counter(line);font:700 14px/1.6 var(--mono);text-align:right}
.lines .when{display:block;color:var(--accent);font-weight:600}
.lines .trained,.lines .uncertified{color:var(--error);font-weight:600}
.card ul{margin:0;padding-left:20px}
.card .cautions li{color:var(--accent)}
`;

function sheet(card: RecoveryCard, index: number, data: CardsPageData): Markup {
  const proved = card.procedures.length > 0 && card.procedures.every(({ verdict }) => verdict === "proved");
  const zones: { readonly title: string; readonly body: Markup }[] = [];
  for (const [k, procedure] of card.procedures.entries()) {
    const cause = CAUSE_WORDS[procedure.cause];
    zones.push({ title: `${cause}: what may be so`, body: possible(procedure) });
    const like = card.procedures.findIndex((other, o) => o < k && isSame(other, procedure));
    zones.push({
      title: `${cause}: what to do, in this order`,
      body:
        like >= 0
          ? html`<p>The same lines as ${CAUSE_WORDS[card.procedures[like]!.cause].toLowerCase()}.</p>`
          : lines(procedure),
    });
  }
  zones.push({
    title: "Cautions",
    body: html`<ul class="cautions">${CARD_CAUTIONS.map((text) => html`<li>${text}</li>`)}</ul>`,
  });
  return html`<div class="sheet card"><div class="ruler" aria-hidden="true">${[1, 2, 3, 4, 5, 6, 7, 8].map((k) => html`<span>${k}</span>`)}</div>
<header><div class="verdict"><p class="stamp ${proved ? "good" : "bad"}">${proved ? "proved" : "not proved"}</p><h1>Recovery card ${index + 1}: stopped in ${card.title}</h1><p class="lead">${verdictWords(card)}</p></div>
<dl class="title-block"><div class="wide"><dt>Cell</dt><dd>${data.cell}</dd></div><div class="wide"><dt>Cell file</dt><dd>${data.file}</dd></div>
<div><dt>Part</dt><dd>${card.variants.join(", ")}</dd></div><div><dt>Card</dt><dd>${index + 1} of ${data.cards.length}</dd></div>
<div><dt>Made</dt><dd>${data.date}</dd></div><div><dt>Millhand</dt><dd>${data.version}</dd></div></dl></header>
<main>${zones.map(
    (zone, i) =>
      html`<section><h2><span class="zone" aria-hidden="true">${String.fromCharCode(65 + i)}</span>${zone.title}</h2>${zone.body}</section>`,
  )}</main></div>`;
}

/** What is proved of a card, or why nothing is, in sentences. */
export function verdictWords(card: RecoveryCard): string {
  const { procedures } = card;
  if (procedures.length === 0) return "Nothing is known of a stop here.";
  const open = procedures.filter(({ verdict }) => verdict !== "proved");
  const trained = procedures.some((procedure) => procedure.trained)
    ? " In some of the states it ends with trained people and the energy locked out."
    : "";
  if (open.length === 0)
    return `From every state that the cell may be in, these lines drop nothing, crush nothing and end where the routine starts.${trained}`;
  return open
    .map(({ cause, reasons }) => `${CAUSE_WORDS[cause]}, not proved: ${reasons.join(" ")}`)
    .join(" ")
    .concat(trained);
}

const isSame = (a: CardProcedure, b: CardProcedure): boolean => JSON.stringify(a.lines) === JSON.stringify(b.lines);

function possible({ possible: words }: CardProcedure): Markup {
  if (words.length === 0) return html`<p>Everything as before the first start; the arm on its path.</p>`;
  return html`<ul>${words.map((text) => html`<li>${text}</li>`)}</ul>`;
}

const lines = ({ lines: list }: CardProcedure): Markup => html`<ol class="lines">${list.map(line)}</ol>`;

function line({ when, text, kind }: CardLine): Markup {
  const mark = kind === "trained" ? "trained" : text.includes("NOT certified") ? "uncertified" : "";
  return html`<li><span class="${mark}">${when !== null && html`<span class="when">Only if ${when}</span>`}${text}</span></li>`;
}
