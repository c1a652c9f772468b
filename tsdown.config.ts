import { defineConfig } from "tsdown";

const floors = ["math", "cell", "arm", "motion", "cycle", "check", "exchange", "dossier"];

export default defineConfig({
  entry: ["src/cli/main.ts", ...floors.map((floor) => `src/${floor}/index.ts`)],
  outDir: "dist",
  format: "esm",
  platform: "node",
  target: "node20",
  dts: false,
  clean: true,
  fixedExtension: false,
});
