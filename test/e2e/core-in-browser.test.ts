/**
 * The core needs nothing but the language: bundled for the browser it gives the same report as the program in Node. Sine and
 * cosine may differ in the last bit between versions of the engine, and the timing of paths stops iterating at another
 * step then, so numbers are compared to a relative 1e-3 and texts without the numbers in them. Where the same least
 * clearance is met at several moments, rounding decides which one is named: the distance is compared, not the moment.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { build } from "tsdown";
import { describe, expect, it } from "vitest";
import { startBrowser, withoutBrowser } from "./browser.ts";
import { root, run } from "./program.ts";

const words = (text: string): string => text.replaceAll(/\d+(\.\d+)?/g, "#");

/** When, where and in which state of the arm a least clearance is met. */
const MOMENT = /^report\.clearance\.(steps\.\d+\.nearest\.)?(time_s|points|q)$/;

/** Places at which two JSON values differ by more than rounding. */
function differences(a: unknown, b: unknown, at: string): string[] {
  if (MOMENT.test(at)) return [];
  if (typeof a === "number" && typeof b === "number")
    return Math.abs(a - b) <= 1e-3 * Math.max(1, Math.abs(a)) ? [] : [`${at}: ${a} and ${b}`];
  if (typeof a === "object" && typeof b === "object" && a !== null && b !== null) {
    const [left, right] = [a as Record<string, unknown>, b as Record<string, unknown>];
    const keys = new Set([...Object.keys(left), ...Object.keys(right)]);
    return [...keys].flatMap((key) => differences(left[key], right[key], `${at}.${key}`));
  }
  if (typeof a === "string" && typeof b === "string" && words(a) === words(b)) return [];
  return a === b ? [] : [`${at}: ${JSON.stringify(a)} and ${JSON.stringify(b)}`];
}

describe.skipIf(withoutBrowser !== undefined)(`core in the browser ${withoutBrowser ?? ""}`, () => {
  it("checks a demo cell as Node does", async () => {
    const folder = "examples/two-lathes";
    const outDir = join(root, "build", "core");
    await build({
      entry: { core: "test/e2e/core-entry.ts" },
      cwd: root,
      outDir,
      format: "iife",
      globalName: "core",
      platform: "browser",
      deps: { alwaysBundle: [/./] },
      logLevel: "error",
      config: false,
      clean: true,
    });
    const bundle = readdirSync(outDir).find((name) => name.endsWith(".js"))!;
    const texts = Object.fromEntries(
      readdirSync(join(root, folder))
        .filter((name) => name.endsWith(".yaml"))
        .map((name) => [`${folder}/${name}`, readFileSync(join(root, folder, name), "utf8")]),
    );
    const browser = await startBrowser();
    try {
      const page = await browser.newPage();
      const troubles: string[] = [];
      page.on("console", (message) => troubles.push(message.text()));
      page.on("pageerror", (error) => troubles.push(error.message));
      await page.addScriptTag({ path: join(outDir, bundle) });
      const inBrowser = await page.evaluate(
        ([entry, files]) =>
          (window as unknown as { core: typeof import("./core-entry.ts") }).core.checkTexts(entry, files),
        [`${folder}/cell.yaml`, texts] as const,
      );
      const inNode = await run(["check", `${folder}/cell.yaml`, "--json"]);
      const report = JSON.parse(inBrowser);
      expect(report).toHaveProperty("verdict");
      expect(report.cycle.period_s).toBeGreaterThan(0);
      expect(differences(report, JSON.parse(inNode.stdout), "report")).toEqual([]);
      expect(troubles).toEqual([]);
    } finally {
      await browser.close();
    }
  });
});
