/** The schedule as comma-separated values (RFC 4180): header, one row for each signal, lines ending in CR LF. */
import type { PointPlace } from "./assign.ts";
import type { ScheduleRow } from "./schedule.ts";

const COLUMNS: readonly (readonly [title: string, value: (row: ScheduleRow) => string | number | null])[] = [
  ["terminal", (row) => row.terminal],
  ["port", (row) => row.port],
  ["point", (row) => row.point],
  ["kind", (row) => row.kind],
  ["signal", (row) => row.signal],
  ["how", (row) => row.how],
  ["connects", (row) => row.connects],
  ["device", (row) => row.device],
  ["contact", (row) => row.contact],
  ["polarity", (row) => row.polarity],
  ["coupling", (row) => row.coupling],
  ["current_mA", (row) => (row.current === null ? null : Number((row.current * 1000).toPrecision(12)))],
  ["voltage_V", (row) => row.voltage],
  ["unit", (row) => row.unit],
  ["table", (row) => row.table],
  ["address", (row) => row.address],
  ["reference", (row) => row.reference],
  ["note", (row) => row.note],
];

/** The schedule as text. */
export function scheduleCsv(rows: readonly ScheduleRow[]): string {
  const lines = [
    COLUMNS.map(([title]) => title),
    ...rows.map((row) => COLUMNS.map(([, value]) => String(value(row) ?? ""))),
  ];
  return lines.map((fields) => `${fields.map(field).join(",")}\r\n`).join("");
}

const field = (text: string): string => (/[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);

export type ParsedCsv =
  | { readonly ok: true; readonly records: readonly (readonly string[])[] }
  | { readonly ok: false; readonly line: number; readonly problem: string };

/** Records of a CSV text (RFC 4180; a lone LF ends a line as well). Never throws. */
export function parseCsv(text: string): ParsedCsv {
  const records: string[][] = [];
  let record: string[] = [];
  let i = 0;
  let line = 1;
  while (i < text.length) {
    let value = "";
    if (text[i] === '"') {
      const opened = line;
      for (i++; ; i++) {
        if (i >= text.length) return { ok: false, line: opened, problem: "a quoted field that is not closed" };
        if (text[i] === '"') {
          if (text[i + 1] !== '"') break;
          i++;
        } else if (text[i] === "\n") line++;
        value += text[i];
      }
      i++;
      if (i < text.length && !/[,\r\n]/.test(text[i]!))
        return { ok: false, line, problem: "text behind a quoted field" };
    } else {
      const start = i;
      while (i < text.length && !/[,\r\n]/.test(text[i]!)) {
        if (text[i] === '"') return { ok: false, line, problem: "a quote inside a field without quotes" };
        i++;
      }
      value = text.slice(start, i);
    }
    record.push(value);
    if (text[i] === ",") {
      i++;
      // A comma at the very end is followed by one more, empty, field.
      if (i === text.length) record.push("");
      else continue;
    }
    if (text[i] === "\r" && text[i + 1] === "\n") i++;
    else if (text[i] === "\r") return { ok: false, line, problem: "a CR without LF" };
    if (text[i] === "\n") line++;
    i++;
    records.push(record);
    record = [];
  }
  if (record.length > 0) records.push(record);
  return { ok: true, records };
}

export type EarlierPoints =
  | { readonly ok: true; readonly points: ReadonlyMap<string, PointPlace> }
  | { readonly ok: false; readonly line: number; readonly problem: string };

/** Where signals were, from a schedule written earlier. Rows without a point, and proposed ones, hold nothing. Never throws. */
export function pointsFromCsv(text: string): EarlierPoints {
  const parsed = parseCsv(text.startsWith("\ufeff") ? text.slice(1) : text);
  if (!parsed.ok) return parsed;
  const [header = [], ...rows] = parsed.records;
  const [signal, port, point, how] = ["signal", "port", "point", "how"].map((title) => header.indexOf(title)) as [
    number,
    number,
    number,
    number,
  ];
  if (signal < 0 || port < 0 || point < 0) return { ok: false, line: 1, problem: "no columns signal, port and point" };
  const points = new Map<string, PointPlace>();
  for (const [i, row] of rows.entries()) {
    const at = row[point] ?? "";
    if (at === "" || row[how] === "proposed") continue;
    if (!/^\d{1,5}$/.test(at))
      return { ok: false, line: i + 2, problem: `a point that is no number: ${at.slice(0, 40)}` };
    points.set(row[signal] ?? "", { port: row[port] ?? "", point: Number(at) });
  }
  return { ok: true, points };
}
