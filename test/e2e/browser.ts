/** Debian's Chromium for tests of pages. Absent: tests that need it are skipped, except where CI is set, and fail there. */
import { existsSync } from "node:fs";
import { type Browser, chromium } from "playwright-core";

const PROGRAM = "/usr/bin/chromium";

/** Why tests in the browser are skipped; undefined when they run. */
export const withoutBrowser =
  existsSync(PROGRAM) || process.env["CI"] === "true" ? undefined : `${PROGRAM} is not installed`;

/** Starts the browser with a new, empty profile and without services of its own. */
export function startBrowser(): Promise<Browser> {
  return chromium.launch({
    executablePath: PROGRAM,
    args: [
      "--no-sandbox",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
}
