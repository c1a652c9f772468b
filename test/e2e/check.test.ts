/** `check` and `cycle` from the outside: output, exit status, pages, interruption. */
import { spawn } from "node:child_process";
import { chmodSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as pause } from "node:timers/promises";
import { pathToFileURL } from "node:url";
import { afterAll, beforeAll, describe, expect, inject, it } from "vitest";
import type { CheckReport } from "../../src/check/index.ts";
import { startBrowser, withoutBrowser } from "./browser.ts";
import { type Ended, ended, root, run, start } from "./program.ts";

const CELL = join(root, "test", "cells", "small-lathe.yaml");

let folder: string;
/** The cell with its raw tray moved out of reach. */
let tooFar: string;
/** One check each: for people, as JSON with a page, and the same for the cell that cannot work. */
let forPeople: Ended;
let asJson: Ended;
let report: CheckReport;
let page: string;
let farForPeople: Ended;
let farAsJson: Ended;
let farPage: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "millhand-check-"));
  const text = readFileSync(CELL, "utf8");
  const far = text.replace(/(raw-tray:\s*\{?\s*[^\n]*?at: \[)[^\]]*\]/, "$13000, 0, 0 mm]");
  expect(far).not.toBe(text);
  tooFar = join(folder, "too-far.yaml");
  writeFileSync(tooFar, far);
  page = join(folder, "page.html");
  farPage = join(folder, "far.html");
  [forPeople, asJson] = await Promise.all([run(["check", CELL]), run(["check", CELL, "--json", "--html", page])]);
  [farForPeople, farAsJson] = await Promise.all([
    run(["check", tooFar]),
    run(["check", tooFar, "--json", "--html", farPage]),
  ]);
  report = JSON.parse(asJson.stdout) as CheckReport;
}, 120_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("check", () => {
  it("gives one JSON document with the promised fields and nothing else", () => {
    expect({ stderr: asJson.stderr, status: asJson.status }).toEqual({ stderr: "", status: 0 });
    expect(report.schemaVersion).toBe(1);
    expect(report.verdict).toBe("feasible");
    const { cycle } = report;
    for (const key of ["period_s", "robot_s", "machine_s", "spindleIdle_s", "partsPerHour"] as const)
      expect(cycle![key]).toBeGreaterThan(0);
    expect(cycle!.partsPerHour * cycle!.period_s).toBeCloseTo(3600, 6);
    expect(cycle!.period_s).toBeGreaterThanOrEqual(cycle!.fastest_s);
    expect(cycle!.period_s).toBeLessThanOrEqual(cycle!.slowest_s);
    for (const key of ["clearance", "proof", "reach", "grip", "payload", "signals"]) expect(report).toHaveProperty(key);
    for (const finding of report.findings) {
      expect(["error", "warning", "caution"]).toContain(finding.severity);
      expect(finding.mend).not.toBe("");
      expect(finding.file).toBe(CELL);
    }
  });

  it("begins with the verdict for people, and shows steps, chart and cautions", () => {
    const { stdout, stderr, status } = forPeople;
    expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
    expect(stdout).toMatch(/^FEASIBLE {2}Small lathe cell\nOne part every [\d.]+ s, [\d.]+ parts per hour\. 0 errors/);
    expect(stdout).toMatch(/\nSteps\nstep .* limited by\n/);
    expect(stdout).toMatch(/pick\[2\] .*line to raw-tray .*tool speed \d+ %/);
    expect(stdout).toMatch(/\nlathe\.turning +.*━{6}/);
    expect(stdout).toMatch(/\nCautions \(\d+\)\n {2}[a-z-]+ {2}.*small-lathe\.yaml:\d+:\d+/);
    expect(stdout).not.toContain("\u001b");
  });

  it("ends with status 1 for a cell that cannot work, and says where and what would mend it", () => {
    const { stdout, status } = farForPeople;
    expect({ status, stderr: farForPeople.stderr }).toEqual({ status: 1, stderr: "" });
    expect(stdout).toMatch(/^NOT FEASIBLE {2}Small lathe cell\n/);
    expect(stdout).toMatch(/\nErrors \(\d+\)\n {2}[a-z-]+ {2}.*too-far\.yaml:\d+:\d+/);
    expect(stdout).toMatch(/\n {4}Mend: /);
    expect(farAsJson.status).toBe(1);
    expect((JSON.parse(farAsJson.stdout) as CheckReport).verdict).toBe("not feasible");
  });

  it("reports every issue of an unusable cell with its place, status 2, nothing on the output", async () => {
    const broken = join(folder, "broken.yaml");
    writeFileSync(broken, readFileSync(CELL, "utf8").replace("scan: 8 ms", "scan: 8 mm").replace("jaws: 2", "jawz: 2"));
    const { stdout, stderr, status } = await run(["check", broken, "--json"]);
    expect({ stdout, status }).toEqual({ stdout: "", status: 2 });
    const lines = stderr.trimEnd().split("\n");
    expect(lines[0]).toMatch(/^millhand: the input cannot be used, \d+ issues:$/);
    for (const line of lines.slice(1)) expect(line).toMatch(/broken\.yaml:\d+:\d+: .*found .*; expected /);
    expect(stderr).toMatch(/scan.*8 mm/);
    expect(stderr).toMatch(/jawz/);
  });

  it("is the same every time, and draws with plain characters on request", async () => {
    const { stdout } = await run(["check", CELL, "--ascii"]);
    expect(stdout.split("\n").filter((line) => /[┣━┅■├─┄□]/.test(line))).toEqual([]);
    expect(stdout).toMatch(/\nlathe\.turning +.*={6}/);
    const words = (text: string) => text.match(/[\w.-]+/g)!.filter((word) => !/^[-.o]+$/.test(word));
    expect(words(stdout)).toEqual(words(forPeople.stdout));
  });
});

describe("check --html", () => {
  it("writes a page for any verdict and leaves nothing else", () => {
    for (const [file, verdict] of [
      [page, "feasible"],
      [farPage, "not feasible"],
    ] as const) {
      const text = readFileSync(file, "utf8");
      expect(text).toMatch(/^<!doctype html>/);
      expect(text).toContain(`>${verdict}</p><h1>Small lathe cell</h1>`);
      expect(text.length).toBeLessThan(1_500_000);
    }
    expect(readdirSync(folder).filter((name) => name.includes("unfinished"))).toEqual([]);
  });

  it("refuses at once where it cannot write, and keeps an old page when the cell is unusable", async () => {
    const { stdout, stderr, status } = await run(["check", CELL, "--html", join(folder, "none", "page.html")]);
    expect({ stdout, status }).toEqual({ stdout: "", status: 2 });
    expect(stderr).toMatch(/^millhand: cannot write .*page\.html: the folder .* does not exist\n$/);
    const old = join(folder, "old.html");
    writeFileSync(old, "old");
    expect((await run(["check", join(folder, "no-cell.yaml"), "--html", old])).status).toBe(2);
    expect(readFileSync(old, "utf8")).toBe("old");
    expect(readdirSync(folder).filter((name) => name.includes("unfinished"))).toEqual([]);
  });

  it.skipIf(process.getuid?.() === 0)("says so when permission is denied (needs a user that is not root)", async () => {
    const closed = mkdtempSync(join(folder, "closed-"));
    chmodSync(closed, 0o500);
    const { stderr, status } = await run(["check", CELL, "--html", join(closed, "page.html")]);
    expect(status).toBe(2);
    expect(stderr).toContain("permission denied");
  });
});

describe.skipIf(withoutBrowser !== undefined)(`the written page ${withoutBrowser ?? ""}`, () => {
  it("opens in a browser with every plot drawn and every step named", async () => {
    const browser = await startBrowser();
    try {
      const view = await browser.newPage({ viewport: { width: 1280, height: 900 } });
      const troubles: string[] = [];
      view.on("console", (message) => troubles.push(message.text()));
      view.on("pageerror", (error) => troubles.push(error.message));
      await view.goto(pathToFileURL(page).href);
      const { plots, filled } = await view.evaluate(() => {
        const canvases = [...document.querySelectorAll("canvas")];
        const isFilled = (canvas: HTMLCanvasElement) =>
          canvas
            .getContext("2d")!
            .getImageData(0, 0, canvas.width, canvas.height)
            .data.some((value) => value > 0);
        return { plots: canvases.length, filled: canvases.filter(isFilled).length };
      });
      // Position, velocity and acceleration of six joints.
      expect({ plots, filled }).toEqual({ plots: 18, filled: 18 });
      const ids = await view.locator("section tbody th.id").allTextContents();
      for (const step of report.cycle!.steps) expect(ids).toContain(step.id);
      expect(await view.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(1280);
      expect(troubles).toEqual([]);
    } finally {
      await browser.close();
    }
  });
});

describe("cycle", () => {
  it("gives the chart, the figures and the critical path", async () => {
    const { stdout, stderr, status } = await run(["cycle", CELL]);
    expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
    expect(stdout).toMatch(/^Small lathe cell, part short, nominal times\n/);
    expect(stdout).toMatch(/\nCritical path +lathe\.turning \d+ %/);
    expect(stdout).toMatch(/\n +[\d.]+ +[\d.]+ +[\d.]+ {2}lathe\.turning +lathe\.turning\n/);
  });

  it("orders the paces, and agrees with check", async () => {
    const of = async (pace: string) =>
      JSON.parse((await run(["cycle", CELL, "--json", "--pace", pace])).stdout) as {
        period_s: number;
        pace: string;
        spindleIdle_s: number;
      };
    const [fastest, nominal, slowest] = await Promise.all([of("fastest"), of("nominal"), of("slowest")]);
    expect(fastest.period_s).toBeLessThan(nominal.period_s);
    expect(nominal.period_s).toBeLessThan(slowest.period_s);
    const { cycle } = report;
    expect(cycle!.period_s).toBe(nominal.period_s);
    expect(cycle!.fastest_s).toBe(fastest.period_s);
    expect(cycle!.slowest_s).toBe(slowest.period_s);
    expect(cycle!.spindleIdle_s).toBe(nominal.spindleIdle_s);
  });

  it("gives activities whose links hold together", async () => {
    const { stdout, status } = await run(["cycle", CELL, "--json"]);
    expect(status).toBe(0);
    const document = JSON.parse(stdout) as {
      schemaVersion: number;
      activities: { index: number; start_s: number; end_s: number; after: number[]; critical: boolean }[];
      criticalPath: number[];
      duration_s: number;
    };
    expect(document.schemaVersion).toBe(1);
    for (const [i, activity] of document.activities.entries()) {
      expect(activity.index).toBe(i);
      expect(activity.end_s).toBeGreaterThanOrEqual(activity.start_s);
      expect(activity.end_s).toBeLessThanOrEqual(document.duration_s + 1e-9);
    }
    expect(document.criticalPath.length).toBeGreaterThan(0);
    for (const index of document.criticalPath) expect(document.activities[index]!.critical).toBe(true);
  });

  it("names the parts when asked for one that is not there", async () => {
    const { stdout, stderr, status } = await run(["cycle", CELL, "--variant", "square"]);
    expect({ stdout, status }).toEqual({ stdout: "", status: 2 });
    expect(stderr).toBe(`millhand: ${CELL}: --variant: found square; expected one of short, long\n`);
  });
});

describe.skipIf(!existsSync("/usr/bin/script"))("colours (on a terminal made by /usr/bin/script)", () => {
  /** Runs the program on a terminal of its own, made by the `script` command of util-linux. */
  const onTerminal = (env: Readonly<Record<string, string>>) => {
    const { NO_COLOR: _, FORCE_COLOR: __, CI: ___, ...rest } = process.env;
    const command = `${process.execPath} ${inject("program")} cycle ${CELL}`;
    const child = spawn("script", ["--quiet", "--return", "--command", command, "/dev/null"], {
      env: { ...rest, TERM: "xterm-256color", LANG: "C.UTF-8", ...env },
    });
    child.stdin.end();
    return ended(child);
  };

  it("appear on a terminal, and not with NO_COLOR", async () => {
    const [coloured, plain] = await Promise.all([onTerminal({}), onTerminal({ NO_COLOR: "1" })]);
    expect(coloured.status).toBe(0);
    expect(coloured.stdout).toContain("\u001b[1m");
    // biome-ignore lint/suspicious/noControlCharactersInRegex: colour sequences
    expect(plain.stdout).not.toMatch(/\u001b\[\d*m/);
    expect(plain.stdout).toContain("Small lathe cell, part short");
  });
});

describe.skipIf(!existsSync("/usr/bin/script"))("progress (on a terminal made by /usr/bin/script)", () => {
  it("is shown for long work on the terminal, taken away again, and never put into the output", async () => {
    const output = join(folder, "piped.json");
    const command = `${process.execPath} ${inject("program")} check ${CELL} --json > ${output}`;
    const { CI: _, ...env } = process.env;
    const child = spawn("script", ["--quiet", "--return", "--command", command, "/dev/null"], {
      env: { ...env, TERM: "xterm-256color" },
    });
    child.stdin.end();
    const { stdout, status } = await ended(child);
    expect(status).toBe(0);
    expect(JSON.parse(readFileSync(output, "utf8"))).toEqual(report);
    // Loading alone takes longer than the bar's patience on any machine of today; if not, there is nothing to see.
    if (stdout !== "") {
      expect(stdout).toMatch(/[#-]{30} \d+ %/);
      // The cursor, hidden while the bar moves, is shown again.
      expect(stdout.lastIndexOf("\u001b[?25h")).toBeGreaterThan(stdout.lastIndexOf("\u001b[?25l"));
    }
  });
});

describe("being stopped", () => {
  it.each(["SIGINT", "SIGTERM"] as const)(
    "by %s in the middle of work ends with status 3 and leaves no file",
    async (signal) => {
      // Ends in the middle: the page is claimed at once, and the check of the cell takes much longer than that.
      const here = mkdtempSync(join(folder, "stop-"));
      const page = join(here, "page.html");
      writeFileSync(page, "old");
      const child = start(["check", CELL, "--html", page]);
      const end = ended(child);
      for (let k = 0; k < 1000 && readdirSync(here).length < 2; k++) await pause(2);
      expect(readdirSync(here)).toHaveLength(2);
      child.kill(signal);
      const { stdout, stderr, status } = await end;
      expect({ stdout, stderr, status }).toEqual({ stdout: "", stderr: "millhand: interrupted\n", status: 3 });
      expect(readdirSync(here)).toEqual(["page.html"]);
      expect(readFileSync(page, "utf8")).toBe("old");
    },
  );

  it("by a bug says so in one line, with the stack only on request", async () => {
    // A fault from outside, thrown while the program waits for input.
    const fault = "data:text/javascript,setTimeout(() => { throw new TypeError('x is not a bolt') }, 400).unref()";
    const failing = (env: Readonly<Record<string, string>>) => {
      const child = start(["fk", "--arm", CELL], { env: { NODE_OPTIONS: `--import "${fault}"`, ...env } });
      return ended(child);
    };
    const [plain, debug] = await Promise.all([failing({}), failing({ MILLHAND_DEBUG: "1" })]);
    const message =
      "millhand: this is a bug, please report it with the cell file and the command (TypeError: x is not a bolt)\n";
    expect(plain).toEqual({ stdout: "", stderr: message, status: 2 });
    expect(debug.stderr.startsWith(`${message}TypeError: x is not a bolt\n    at `)).toBe(true);
    expect(debug.status).toBe(2);
  });

  it("by the reader of its output going away ends quietly", async () => {
    for (const args of [["cycle", CELL, "--json"], ["schema"]]) {
      const child = start(args);
      child.stdin.end();
      const end = ended(child);
      child.stdout.destroy();
      const { stderr, status } = await end;
      expect({ args, stderr, status }).toEqual({ args, stderr: "", status: 0 });
    }
  });
});
