/**
 * Graphical symbols on a line from left to right, drawn here after the descriptions of IEC 60617 (make and break contact, push
 * button, proximity switch, relay coil, solenoid valve, lamp, terminal, diode, general rectangle). Contacts move upward when they
 * are operated: the standard's upright symbols turned a quarter to the left. Nothing is operated: contacts are drawn at rest.
 *
 * Each symbol reaches from x to x + `SPAN`, with its leads on the line y; the lines outside of it are the caller's.
 */
import { html, type Markup } from "../markup.ts";

export const SPAN = 60;

/** Contact at rest: open, or closed for a break contact. `link` is what operates it, hung below. */
function contact(x: number, y: number, normallyClosed: boolean, link: Markup | undefined): Markup {
  const hinge = x + 44;
  const end = x + 16;
  // The break contact's blade crosses a bar that its fixed side holds out; the make contact's ends short of the fixed side.
  const blade = normallyClosed
    ? html`<path class="line" d="M${x} ${y}H${end}v-11M${hinge} ${y}L${end - 3} ${y - 10.5}M${hinge} ${y}H${x + SPAN}"/>`
    : html`<path class="line" d="M${x} ${y}H${end}M${hinge} ${y}L${end + 2} ${y + 10}M${hinge} ${y}H${x + SPAN}"/>`;
  const half = normallyClosed ? y - 5 : y + 5;
  return html`${blade}${link && html`<path class="linkage" d="M${x + 30} ${half}V${y + 15}"/>${link}`}`;
}

export const makeContact = (x: number, y: number): Markup => contact(x, y, false, undefined);
export const breakContact = (x: number, y: number): Markup => contact(x, y, true, undefined);

/** Contact operated by pushing. */
export function pushButton(x: number, y: number, normallyClosed: boolean): Markup {
  const m = x + 30;
  return contact(
    x,
    y,
    normallyClosed,
    html`<path class="line" d="M${m - 8} ${y + 12}V${y + 17}H${m + 8}V${y + 12}M${m} ${y + 17}V${y + 11}"/>`,
  );
}

/** Contact operated by the approach of a body: the diamond of a sensing device. */
export function proximitySwitch(x: number, y: number, normallyClosed: boolean): Markup {
  const m = x + 30;
  const c = y + 21;
  return contact(
    x,
    y,
    normallyClosed,
    html`<path class="line" d="M${m - 7} ${c}L${m} ${c - 6}L${m + 7} ${c}L${m} ${c + 6}ZM${m - 3} ${c}L${m} ${c - 2.6}L${m + 3} ${c}L${m} ${c + 2.6}Z"/>`,
  );
}

/** Operating coil of a relay: a rectangle with its leads at the long sides. */
export const relayCoil = (x: number, y: number): Markup =>
  html`<path class="line" d="M${x} ${y}H${x + 22}M${x + 38} ${y}H${x + SPAN}"/><rect class="line" x="${x + 22}" y="${y - 12}" width="16" height="24"/>`;

/** Coil of a solenoid valve: a coil that moves a valve body. */
export function valveCoil(x: number, y: number): Markup {
  const m = x + 30;
  const c = y + 23;
  return html`${relayCoil(x, y)}<path class="linkage" d="M${m} ${y + 12}V${c - 5}"/><path class="line" d="M${m - 9} ${c - 5}L${m + 9} ${c + 5}V${c - 5}L${m - 9} ${c + 5}Z"/>`;
}

/** Lamp: a circle with a cross. */
export function lamp(x: number, y: number): Markup {
  const m = x + 30;
  const d = 11 * Math.SQRT1_2;
  return html`<path class="line" d="M${x} ${y}H${m - 11}M${m + 11} ${y}H${x + SPAN}M${px(m - d)} ${px(y - d)}L${px(m + d)} ${px(y + d)}M${px(m - d)} ${px(y + d)}L${px(m + d)} ${px(y - d)}"/><circle class="line" cx="${m}" cy="${y}" r="11"/>`;
}

/** An item of any kind, told by the letters in it. */
export const item = (x: number, y: number, letters: string, stated = true): Markup =>
  html`<path class="line" d="M${x} ${y}H${x + 10}M${x + 50} ${y}H${x + SPAN}"/><rect class="${stated ? "line" : "line unstated"}" x="${x + 10}" y="${y - 12}" width="40" height="24"/><text class="letters" x="${x + 30}" y="${y + 4}">${letters}</text>`;

/** What takes up a coil's energy, in a branch above the coil that starts at x. The diode blocks from plus (left) to minus. */
export function suppressor(x: number, y: number, kind: "diode" | "varistor" | "RC"): Markup {
  const top = y - 21;
  const m = x + 30;
  const branch = (from: number, to: number) =>
    html`<path class="line" d="M${x + 8} ${y}V${top}H${from}M${to} ${top}H${x + 52}V${y}"/>${node(x + 8, y)}${node(x + 52, y)}`;
  if (kind === "diode")
    return html`${branch(m - 6, m + 6)}<path class="line" d="M${m + 6} ${top - 5}V${top + 5}L${m - 6} ${top}ZM${m - 6} ${top - 5}V${top + 5}"/>`;
  if (kind === "varistor")
    return html`${branch(m - 11, m + 11)}<rect class="line" x="${m - 11}" y="${top - 4}" width="22" height="8"/><path class="line" d="M${m - 13} ${top + 7}H${m - 8}L${m + 9} ${top - 8}"/>`;
  return html`${branch(m - 16, m + 12)}<rect class="line" x="${m - 16}" y="${top - 4}" width="15" height="8"/><path class="line" d="M${m - 1} ${top}H${m + 7}M${m + 7} ${top - 6}v12M${m + 12} ${top - 6}v12"/>`;
}

/** Two lines that are connected. */
export const node = (x: number, y: number): Markup => html`<circle class="node" cx="${x}" cy="${y}" r="2.4"/>`;

/** Terminal of a strip. */
export const terminal = (x: number, y: number): Markup => html`<circle class="terminal" cx="${x}" cy="${y}" r="4"/>`;

const px = (value: number) => Number(value.toFixed(1));
