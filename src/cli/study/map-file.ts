/** A map as a file: a picture, or its numbers as JSON or CSV. */
import { renderMapSvg } from "../../dossier/index.ts";
import type { GridMap, MapSubject } from "../../study/index.ts";
import { UnusableInput } from "../exit-status.ts";
import { claimFile, type WholeFile } from "../whole-file.ts";

type Format = "svg" | "png" | "json" | "csv";

export interface WantedMap {
  readonly subject: MapSubject;
  readonly file: WholeFile;
  readonly format: Format;
}

/** Claims the file of a map. @throws UnusableInput for another ending, or when nothing can be written there */
export function claimMap(path: string, subject: MapSubject): WantedMap {
  const format = /\.(svg|png|json|csv)$/i.exec(path)?.[1]?.toLowerCase() as Format | undefined;
  if (format === undefined)
    throw new UnusableInput(
      `cannot write a map to ${path || '""'}: give it a name that ends in .svg, .png, .json or .csv`,
    );
  return { subject, format, file: claimFile(path, { what: "map", ending: `.${format}` }) };
}

export async function writeMap({ file, format }: WantedMap, map: GridMap): Promise<void> {
  if (format === "svg") file.finish(renderMapSvg(map));
  else if (format === "png") {
    const { pngOf } = await import("../png.ts");
    file.finish(await pngOf(renderMapSvg(map, { colors: "day" })));
  } else if (format === "json") file.finish(mapJson(map));
  else file.finish(mapCsv(map));
}

/** Lengths in m; values by rows of y, from the least y, null where there is none. */
function mapJson(map: GridMap): string {
  const { values, nx, ny, ...rest } = map;
  const rows = Array.from({ length: ny }, (_, j) =>
    Array.from(values.subarray(j * nx, (j + 1) * nx), (value) => (Number.isFinite(value) ? value : null)),
  );
  return `${JSON.stringify({ schemaVersion: 1, ...rest, nx, ny, values: rows })}\n`;
}

/** One line per grid point; empty where there is no value. */
function mapCsv({ values, nx, ny, x0, y0, dx, dy, legend }: GridMap): string {
  const lines = [`x (m),y (m),"${legend.replaceAll('"', '""')} (SI)"`];
  for (let j = 0; j < ny; j++)
    for (let i = 0; i < nx; i++) {
      const value = values[j * nx + i]!;
      lines.push(`${x0 + i * dx},${y0 + j * dy},${Number.isFinite(value) ? value : ""}`);
    }
  return lines.map((line) => `${line}\r\n`).join("");
}
