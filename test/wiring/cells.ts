/** Cells for tests of the wiring: the small lathe with another controller and further signals. */
import { type Cell, formatIssue, loadCell, type Signal } from "../../src/cell/index.ts";
import { smallLathe, textSource } from "../cells/texts.ts";

/** The small lathe cell with `controller` (YAML below the key, indented by 2) and with lines added to its signals. */
export function cellText(controller: string | undefined, signals = ""): string {
  const from = smallLathe.indexOf("controller:\n");
  const to = smallLathe.indexOf("\ntool:\n");
  const own = controller === undefined ? smallLathe.slice(from, to) : `controller:\n${controller}\n`;
  const text = smallLathe.slice(0, from) + own + smallLathe.slice(to);
  return text.replace("\nsignals:\n", `\nsignals:\n${signals}`);
}

export function wiredCell(controller: string | undefined, signals = ""): Cell {
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": cellText(controller, signals) }));
  if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
  return loaded.value;
}

/** The same cell with other signals. */
export const withSignals = (cell: Cell, signals: readonly Signal[]): Cell => ({
  ...cell,
  signals: new Map(signals.map((signal) => [signal.name, signal])),
});
