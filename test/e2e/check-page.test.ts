/** The page of a check in a real browser: nothing but itself is loaded, everything is drawn, no text becomes markup. */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { plotLibrary } from "../../src/cli/plot-library.ts";
import { type CheckPageData, renderCheckPage } from "../../src/dossier/index.ts";
import { SAMPLE_CHART, SAMPLE_JOINTS, SAMPLE_REPORT, samplePage } from "../../src/dossier/sample-data.ts";
import { startBrowser, withoutBrowser } from "./browser.ts";

const PLOTS = 3 * SAMPLE_JOINTS.length;

describe.skipIf(withoutBrowser !== undefined)(`page of a check in the browser ${withoutBrowser ?? ""}`, () => {
  let browser: Browser;
  let folder: string;
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), "millhand-page-"));
    browser = await startBrowser();
  });
  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const data = (): CheckPageData => samplePage(plotLibrary.script, plotLibrary.style);

  /** Opens a page and gathers everything that went wrong and every request. */
  async function open(
    content: CheckPageData,
    options: { width: number; scheme: "light" | "dark" } = { width: 1280, scheme: "light" },
  ): Promise<{ page: Page; troubles: string[]; requests: string[] }> {
    const file = join(folder, "page.html");
    writeFileSync(file, renderCheckPage(content));
    const page = await browser.newPage({
      viewport: { width: options.width, height: 900 },
      colorScheme: options.scheme,
    });
    const troubles: string[] = [];
    const requests: string[] = [];
    page.on("console", (message) => troubles.push(message.text()));
    page.on("pageerror", (error) => troubles.push(error.message));
    page.on("request", (request) => requests.push(request.url()));
    await page.goto(pathToFileURL(file).href);
    return { page, troubles, requests };
  }

  /** For each plot, the share of its points that are not empty. */
  const inkOfPlots = (page: Page): Promise<number[]> =>
    page.evaluate(() =>
      [...document.querySelectorAll("canvas")].map((canvas) => {
        const { data: pixels } = canvas.getContext("2d")!.getImageData(0, 0, canvas.width, canvas.height);
        let inked = 0;
        for (let k = 3; k < pixels.length; k += 4) if (pixels[k]! > 0) inked++;
        return inked / (pixels.length / 4);
      }),
    );

  it.each([
    [1280, "light"],
    [800, "light"],
    [1280, "dark"],
    [800, "dark"],
  ] as const)("is drawn whole at %i px, %s, from nothing but the file", async (width, scheme) => {
    const { page, troubles, requests } = await open(data(), { width, scheme });
    const ink = await inkOfPlots(page);
    expect(ink).toHaveLength(PLOTS);
    expect(Math.min(...ink)).toBeGreaterThan(0.01);
    const overflow = await page.evaluate(
      () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
    );
    expect(overflow).toBe(0);
    expect(troubles).toEqual([]);
    expect(requests).toHaveLength(1);
    await page.close();
  });

  it("draws the curves that it was given", async () => {
    const { page } = await open(data());
    // Joint 1 is 0.2·(1 - cos(π t / 10)): 22.92° at 10 s, in the middle of the plot.
    const plot = page.locator('.plot[data-joint="0"][data-quantity="0"]');
    const over = plot.locator(".u-over");
    await over.scrollIntoViewIfNeeded();
    const box = (await over.boundingBox())!;
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await expect.poll(() => plot.locator(".at").textContent()).not.toBe("");
    const text = (await plot.locator(".at").textContent())!;
    const [, at, value] = /^([\d.]+) s: ([\d.]+) °$/.exec(text)!;
    expect(Math.abs(Number(at) - 10)).toBeLessThan(0.1);
    expect(Number(value)).toBeCloseTo((0.4 * 180) / Math.PI, 1);
    // The same moment shows in every plot.
    expect(await page.locator(".at").allTextContents()).toSatisfy((all: string[]) =>
      all.every((t) => t.startsWith(`${at} s`)),
    );
    await page.close();
  });

  it("shows the clearances with drawn pictures, legible and named, at every width", async () => {
    for (const width of [1280, 800, 400]) {
      const { page, troubles } = await open(data(), { width, scheme: width === 800 ? "dark" : "light" });
      const section = page.locator("section", { has: page.locator("h2", { hasText: "Clearance" }) });
      expect(await section.locator("tbody tr").count()).toBe(SAMPLE_REPORT.clearance!.steps.length);
      const pictures = await section.locator("svg.scene").evaluateAll((all) =>
        all.map((svg) => {
          const { width: drawn, left, right } = svg.getBoundingClientRect();
          const texts = [...svg.querySelectorAll("text")].map((text) => text.getBoundingClientRect());
          const fills = [...svg.querySelectorAll("[class^='t-'] path")].map((path) => getComputedStyle(path).fill);
          return {
            drawn,
            inPage: left >= 0 && right <= document.documentElement.clientWidth,
            named: svg.getAttribute("role") === "img" && (svg.getAttribute("aria-label") ?? "") !== "",
            title: svg.querySelector("title")?.textContent,
            least: Math.min(...texts.map(({ height }) => height)),
            black: fills.filter((fill) => fill === "rgb(0, 0, 0)").length,
            shapes: fills.length,
          };
        }),
      );
      expect(pictures).toHaveLength(5);
      for (const picture of pictures) {
        expect(picture).toMatchObject({ inPage: true, named: true, black: 0 });
        expect(picture.title).toContain("gripper.jaws");
        expect(picture.drawn).toBeGreaterThan(280);
        expect(picture.shapes).toBeGreaterThan(2);
        expect(picture.least).toBeGreaterThan(9);
      }
      // Every reference of a pattern or a clipping leads somewhere.
      const lost = await section.evaluate((element) =>
        [...element.querySelectorAll("[fill^='url'],[clip-path^='url']")]
          .map((user) => /#([^)]+)/.exec(user.getAttribute("fill") ?? user.getAttribute("clip-path") ?? "")?.[1] ?? "")
          .filter((id) => document.getElementById(id) === null),
      );
      expect(lost).toEqual([]);
      expect(troubles).toEqual([]);
      await page.close();
    }
  });

  it("follows a change between light and dark and goes to paper in light", async () => {
    const { page, troubles } = await open(data(), { width: 1280, scheme: "dark" });
    const ground = () => page.evaluate(() => getComputedStyle(document.body).backgroundColor);
    const dark = await ground();
    await page.emulateMedia({ colorScheme: "light" });
    expect(await ground()).not.toBe(dark);
    await page.emulateMedia({ colorScheme: "dark" });
    const pdf = await page.pdf({ preferCSSPageSize: true, printBackground: true });
    expect(pdf.length).toBeGreaterThan(20_000);
    expect(await page.evaluate(() => document.documentElement.classList.contains("on-paper"))).toBe(false);
    expect(Math.min(...(await inkOfPlots(page)))).toBeGreaterThan(0.01);
    expect(troubles).toEqual([]);
    await page.close();
  });

  it("says in words and structure what it shows in pictures", async () => {
    const { page } = await open(data());
    const unnamed = await page.evaluate(
      () => [...document.querySelectorAll('[role="img"]')].filter((e) => !e.getAttribute("aria-label")).length,
    );
    expect(unnamed).toBe(0);
    await page.getByText("Cycle chart as a table").click();
    const { from, to } = SAMPLE_CHART.pass!;
    const inPass = SAMPLE_CHART.activities.filter((a) => a.start >= from && a.start < to);
    expect(await page.locator("details tbody tr").count()).toBe(inPass.length);
    const levels = await page.evaluate(() =>
      [...document.querySelectorAll("h1,h2,h3")].map((h) => Number(h.tagName.slice(1))),
    );
    expect(levels[0]).toBe(1);
    for (const [i, level] of levels.entries()) if (i > 0) expect(level - levels[i - 1]!).toBeLessThanOrEqual(1);
    await page.close();
  });

  it("runs no text from a cell and puts none of it into an attribute", async () => {
    const evil = `"><img src=x onerror="window.hit=1"></script><script>window.hit=1</script>`;
    const { page, troubles } = await open({
      ...data(),
      arm: evil,
      file: evil,
      joints: SAMPLE_JOINTS.map((joint) => ({ ...joint, name: evil })),
      chart: {
        ...SAMPLE_CHART,
        variant: evil,
        activities: SAMPLE_CHART.activities.map((a) => ({ ...a, lane: a.lane + evil, label: evil })),
      },
      report: {
        ...SAMPLE_REPORT,
        cell: evil,
        findings: SAMPLE_REPORT.findings.map((f) => ({ ...f, message: evil, where: evil })),
      },
    });
    expect(await page.evaluate(() => (window as { hit?: number }).hit)).toBeUndefined();
    expect(await page.locator("img").count()).toBe(0);
    expect(await page.locator("h1").textContent()).toBe(evil);
    expect(await page.locator("canvas").count()).toBe(PLOTS);
    expect(troubles).toEqual([]);
    await page.close();
  });

  it("shows a moment of a run with joints that have no limits and never move", async () => {
    const n = SAMPLE_JOINTS.length;
    const zero = new Float64Array(2 * n);
    const { page, troubles } = await open({
      ...data(),
      joints: SAMPLE_JOINTS.map((joint) => ({
        ...joint,
        min: -Infinity,
        max: Infinity,
        velocity: Infinity,
        acceleration: Infinity,
      })),
      series: { time: Float64Array.of(0, 5), q: zero, qd: zero, qdd: zero },
    });
    expect(await page.locator("canvas").count()).toBe(PLOTS);
    expect(await page.locator("main").textContent()).not.toMatch(/NaN|Infinity|undefined/);
    expect(troubles).toEqual([]);
    await page.close();
  });
});
