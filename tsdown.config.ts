import { readFileSync } from "node:fs";
import { defineConfig } from "tsdown";

/** The floors served to other programs: those that package.json exports. */
const { exports } = JSON.parse(readFileSync(new URL("package.json", import.meta.url), "utf8")) as {
  exports: Record<string, string>;
};
const floors = Object.keys(exports).map((name) => `src/${name.slice(2)}/index.ts`);

export default defineConfig({
  entry: ["src/cli/main.ts", ...floors],
  outDir: "dist",
  format: "esm",
  platform: "node",
  target: "node20",
  dts: { entry: floors },
  inputOptions: { checks: { pluginTimings: false } },
  clean: true,
  fixedExtension: false,
});
