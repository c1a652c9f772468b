/** The plotting library as text, to be put into pages. */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";

const require = createRequire(import.meta.url);

/** Read when first asked for. */
export const plotLibrary = {
  get script(): string {
    return readFileSync(join(folder(), "uPlot.iife.min.js"), "utf8");
  },
  get style(): string {
    return readFileSync(join(folder(), "uPlot.min.css"), "utf8");
  },
};

const folder = (): string => dirname(require.resolve("uplot/dist/uPlot.min.css"));
