/** One rung of the ladder: from plus to minus through the point of the controller, its terminal and what is wired to it. */
import type { Wire } from "../../wiring/index.ts";
import { type ScheduleRow, SHORT_KINDS } from "../../wiring/index.ts";
import { html, type Markup } from "../markup.ts";
import { shortened } from "../scene/labels.ts";
import {
  breakContact,
  item,
  lamp,
  makeContact,
  node,
  proximitySwitch,
  pushButton,
  relayCoil,
  SPAN,
  suppressor,
  terminal,
  valveCoil,
} from "./symbols.ts";

export const RUNG = 66;
/** From one rail to the other, px. */
export const WIDTH = 580;

/** Places along a rung: the point, the terminal, and the device on the other side. */
const POINT = 74;
const TERMINAL = 250;
const DEVICE = 400;

/** What stands on a rung besides the words. */
export interface RungSubject {
  readonly row: ScheduleRow;
  readonly wire: Wire;
  /** Function codes and address on a remote station. */
  readonly bus: string;
}

/** The rung with its line at y, its plus rail at x. */
export function rung({ row, wire, bus }: RungSubject, x: number, y: number): Markup {
  // The controller's side is next to plus where the point itself switches or feeds plus, next to minus otherwise.
  const pointAtPlus =
    row.direction === "output" ? wire.ratings.outputs !== "sinking" : wire.ratings.inputs === "sourcing";
  const at = (place: number, span: number) => x + (pointAtPlus ? place : WIDTH - place - span);
  const box = at(POINT, 84);
  const end = at(TERMINAL, 0);
  const device = at(DEVICE, SPAN);
  const pieces = [
    [box, box + 84],
    [end - 4, end + 4],
    [device, device + SPAN],
  ].sort((a, b) => a[0]! - b[0]!);
  let d = `M${x} ${y}`;
  for (const [from, to] of pieces) d += `H${from}M${to} ${y}`;
  d += `H${x + WIDTH}`;
  const words = [row.connects, row.note].filter((text) => text !== "").join("; ");
  const name = shortened(row.signal, 40);
  // The branch that takes up a coil's energy stands where the words would go on.
  const until = row.direction === "output" && hasSuppressor(wire) ? DEVICE : WIDTH;
  const room = Math.floor((until - 12 - name.length * 8) / 7);
  return html`<g><title>${row.signal}</title><path class="line" d="${d}"/>${node(x, y)}${node(x + WIDTH, y)}<text x="${x + 8}" y="${y - 21}"><tspan class="strong">${name}</tspan>${words !== "" && room > 8 && html`<tspan class="quiet" dx="9">${cut(words, room)}</tspan>`}</text>${pointBox(row, wire, box, y)}${bus !== "" && html`<text class="small quiet" x="${box + 42}" y="${y + 25}" text-anchor="middle">${bus}</text>`}${terminal(end, y)}<text class="small" x="${end}" y="${y - 7}" text-anchor="middle">${row.terminal}</text>${deviceSymbol(row, wire, device, y)}<text class="small quiet" x="${end + (pointAtPlus ? 12 : -12)}" y="${y + 16}" text-anchor="${pointAtPlus ? "start" : "end"}">${facts(row)}</text></g>`;
}

/** The point as a box with its kind and number; a relay output shows its contact. */
function pointBox(row: ScheduleRow, wire: Wire, x: number, y: number): Markup {
  const label = `${SHORT_KINDS[row.kind]} ${row.point}`;
  const relay = row.kind === "digital outputs" && wire.ratings.outputs === "relay";
  const stated = (row.direction === "output" ? wire.ratings.outputs : wire.ratings.inputs) !== undefined;
  const dashed = row.kind.startsWith("digital") && !stated ? " unstated" : "";
  return html`<rect class="point${dashed}" x="${x}" y="${y - 14}" width="84" height="28"/>${relay && makeContact(x + 26, y)}${relay && html`<path class="line" d="M${x} ${y}H${x + 26}"/>`}<text class="letters" x="${relay ? x + 20 : x + 42}" y="${relay ? y - 3 : y + 4}">${label}</text>`;
}

const hasSuppressor = ({ signal }: Wire): boolean =>
  (signal.coupling === "relay" || signal.load === "relay" || signal.load === "valve") &&
  signal.suppression !== undefined &&
  signal.suppression !== "none";

function deviceSymbol(row: ScheduleRow, { signal, end }: Wire, x: number, y: number): Markup {
  const closed = signal.contact === "normally closed";
  if (row.kind.startsWith("analogue")) return item(x, y, row.direction === "input" ? "sensor" : "load");
  // A coupling relay is what is wired here; its contact, or its coil, belongs to the other control.
  if (signal.coupling === "optocoupler") return item(x, y, "opto");
  if (signal.direction === "input") {
    if (signal.coupling === "relay") return closed ? breakContact(x, y) : makeContact(x, y);
    if (signal.sensor === "push button" || (signal.sensor === undefined && end.owner === "operator"))
      return pushButton(x, y, closed);
    if (signal.sensor === "proximity switch" || signal.sensor === "two-wire switch")
      return proximitySwitch(x, y, closed);
    if (signal.sensor === "output") return item(x, y, "output");
    if (signal.sensor === "contact" || signal.contact !== undefined)
      return closed ? breakContact(x, y) : makeContact(x, y);
    return item(x, y, "?", false);
  }
  const coil = signal.coupling === "relay" || signal.load === "relay" || signal.load === "valve";
  const { suppression } = signal;
  const above = coil && suppression !== undefined && suppression !== "none" ? suppressor(x, y, suppression) : html``;
  if (signal.coupling === "relay" || signal.load === "relay") return html`${relayCoil(x, y)}${above}`;
  if (signal.load === "valve") return html`${valveCoil(x, y)}${above}`;
  if (signal.load === "lamp") return lamp(x, y);
  if (signal.load === "input") return item(x, y, "input");
  return item(x, y, "?", false);
}

/** "PNP, 24 V, 90 mA" */
function facts(row: ScheduleRow): string {
  return [
    row.polarity,
    row.coupling === "relay" ? "coupling relay" : "",
    row.voltage === null ? "" : `${Number(row.voltage.toPrecision(4))} V`,
    row.current === null ? "" : `${Number((row.current * 1000).toPrecision(4))} mA`,
  ]
    .filter((text) => text !== "")
    .join(", ");
}

const cut = (text: string, most: number): string => {
  const characters = [...text];
  return characters.length <= most ? text : `${characters.slice(0, most - 1).join("")}…`;
};
