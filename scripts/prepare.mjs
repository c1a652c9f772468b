// Builds the program where it is missing or older than its sources. npm runs this after an install and again when `npx`
// links the package for the first time; then there is nothing to do.
import { spawnSync } from "node:child_process";
import { readdirSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const root = join(dirname(fileURLToPath(import.meta.url)), "..");
const program = join(root, "dist", "cli", "main.js");
const inputs = ["src", "package.json", "tsdown.config.ts", "tsconfig.json", "tsconfig.base.json"];

/** Time of the last change of a file, or of anything in a folder; a removed file changes its folder. */
function lastChange(path) {
  const facts = statSync(path);
  if (!facts.isDirectory()) return facts.mtimeMs;
  return readdirSync(path).reduce((latest, name) => Math.max(latest, lastChange(join(path, name))), facts.mtimeMs);
}

const built = statSync(program, { throwIfNoEntry: false })?.mtimeMs ?? 0;
if (inputs.every((name) => lastChange(join(root, name)) <= built)) process.exit(0);
const tsdown = join(root, "node_modules", "tsdown", "dist", "run.mjs");
const { status } = spawnSync(process.execPath, [tsdown, "--log-level", "warn"], { cwd: root, stdio: "inherit" });
process.exit(status ?? 1);
