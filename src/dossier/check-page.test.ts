import { describe, expect, it } from "vitest";
import type { ProofReport, RunReport } from "../check/index.ts";
import { renderCheckPage } from "./check-page.ts";
import { picturedSteps } from "./page-clearance.ts";
import { DAY, NIGHT, type Palette } from "./page-colors.ts";
import { SAMPLE_CHART, SAMPLE_JOINTS, SAMPLE_REPORT, samplePage } from "./sample-data.ts";

const page = () => samplePage("window.uPlot=function(){};", ".uplot{}");

describe("page of a check", () => {
  it("states verdict, rate, findings with place and mend, steps and every joint", () => {
    const text = renderCheckPage(page());
    expect(text).toContain('<p class="stamp bad">not feasible</p>');
    expect(text).toContain("One part every 20.00 s, 180.0 parts per hour.");
    for (const finding of SAMPLE_REPORT.findings) {
      expect(text).toContain(`${finding.file}:${finding.line}:${finding.column}`);
      expect(text).toContain(finding.message);
      expect(text).toContain(finding.mend);
    }
    for (const step of SAMPLE_REPORT.cycle!.steps) expect(text).toContain(step.limitedBy.replace(" %", "\u00a0%"));
    for (const joint of SAMPLE_JOINTS) expect(text).toContain(joint.name);
    expect(text.match(/data-quantity="1"/g)).toHaveLength(SAMPLE_JOINTS.length);
  });

  it("draws one bar per activity of the pass and marks the critical ones", () => {
    const text = renderCheckPage(page());
    const { from, to } = SAMPLE_CHART.pass!;
    const inPass = SAMPLE_CHART.activities.filter((a) => a.start >= from && a.start < to);
    expect(text.match(/<svg class="bar/g)).toHaveLength(inPass.length);
    expect(text.match(/<svg class="bar[^"]*critical/g)).toHaveLength(inPass.filter((a) => a.critical).length);
    // The door opens from 40.0 to 41.5 s: 0 to 7.5 % of the pass.
    expect(text).toMatch(
      /x="0\.000%" y="\d+" width="7\.500%"[^>]*><title>lathe\.door: to open \(device\), 0\.00 to 1\.50 s/,
    );
  });

  it("tells the clearance of every step, with pictures of the tightest and of those below what is wanted", () => {
    const text = renderCheckPage(page());
    expect(text).toContain("The least clearance is <b>6.0 mm</b>, between gripper.jaws and lathe.door.panel");
    expect(text).toContain(
      "1.24 s into the step, to raw-tray, place 7, part shaft, lathe.door 40 % of the way from open to closed",
    );
    expect(text).toContain("coolant-hose: its mesh file is not read");
    for (const { step } of SAMPLE_REPORT.clearance!.steps) expect(text).toContain(`class="id">${step}</th>`);
    // Isometric, detail and plan of the tightest; isometric and detail of the other.
    expect(text.match(/<svg [^>]*class="scene"/g)).toHaveLength(5);
    const ids = [...text.matchAll(/ id="([^"]+)"/g)].map(([, id]) => id);
    expect(new Set(ids).size).toBe(ids.length);
    expect(picturedSteps(SAMPLE_REPORT.clearance)).toEqual(["main[0].do[2]", "main[0].do[4]"]);
    expect(picturedSteps(null)).toEqual([]);
  });

  it("lets no name of any section become markup", () => {
    const evil = `</script></style><img src=x onerror="alert(1)">'\u0000`;
    const { report } = page();
    const text = renderCheckPage({
      ...page(),
      arm: evil,
      file: evil,
      version: evil,
      date: evil,
      joints: SAMPLE_JOINTS.map((joint) => ({ ...joint, name: evil })),
      chart: {
        ...SAMPLE_CHART,
        variant: evil,
        activities: SAMPLE_CHART.activities.map((a) => ({ ...a, lane: a.lane + evil, label: evil })),
      },
      pictures: page().pictures.map(({ step, scene }) => ({
        step,
        scene: { ...scene, bodies: scene.bodies.map((body) => ({ ...body, name: evil })) },
      })),
      report: {
        ...report,
        cell: evil,
        findings: report.findings.map((f) => ({
          ...f,
          code: evil,
          where: evil,
          file: evil,
          message: evil,
          mend: evil,
        })),
        cycle: {
          ...report.cycle!,
          variant: evil,
          steps: report.cycle!.steps.map((s) => ({ ...s, id: evil, kind: evil, what: evil, limitedBy: evil })),
          variants: report.cycle!.variants.map((v) => ({ ...v, variant: evil })),
        },
        clearance: {
          ...report.clearance!,
          pair: [evil, evil],
          steps: report.clearance!.steps.map((s) => ({
            ...s,
            step: s.nearest === null ? evil : s.step,
            nearest: s.nearest && {
              ...s.nearest,
              pair: [evil, evil],
              target: evil,
              variant: evil,
              device: { name: evil, from: evil, to: evil, share: 0 },
            },
          })),
          notConsidered: [evil],
        },
        proof: evilProof(evil),
        reach: report.reach.map((r) => ({ ...r, target: evil, singularity: evil })),
        grip: report.grip.map((g) => ({ ...g, gripper: evil, part: evil, grip: evil, cautions: [evil] })),
        signals: { ...report.signals, ports: report.signals.ports.map((p) => ({ ...p, name: evil })) },
      },
    });
    expect(text).not.toContain("<img");
    expect(text).not.toContain("\u0000");
    expect(text.match(/<\/script/g)).toHaveLength(text.match(/<script/g)!.length);
    expect(text.match(/<\/style/g)).toHaveLength(1);
  });

  it("keeps the embedded library from ending its element", () => {
    const text = renderCheckPage({ ...page(), plotScript: 'const a="</script><!--"', plotStyle: "a{b:'</style>'}" });
    expect(text.match(/<\/script/g)).toHaveLength(3);
    expect(text.match(/<\/style/g)).toHaveLength(1);
  });

  it("names no network address", () => {
    expect(renderCheckPage(page())).not.toMatch(/(https?:)?\/\/[a-z0-9-]+\.[a-z]/i);
  });

  it("does without cycle, chart and series", () => {
    const text = renderCheckPage({
      ...page(),
      chart: undefined,
      series: undefined,
      pictures: [],
      report: {
        ...SAMPLE_REPORT,
        clearance: null,
        cycle: null,
        payload: null,
        findings: [],
        verdict: "feasible",
        reach: [],
        grip: [],
      },
    });
    expect(text).toContain('<p class="stamp good">feasible</p>');
    expect(text).toContain("No cycle could be computed");
    expect(text).toContain("No findings.");
    expect(text).not.toContain("<script");
    expect(text).not.toMatch(/NaN|Infinity|undefined/);
  });
});

/** Contrast of two colours, WCAG 2.2 definition of contrast ratio and relative luminance (W3C, 2023). */
function contrast(a: string, b: string): number {
  const luminance = (color: string) => {
    const [r, g, bl] = [1, 3, 5].map((i) => {
      const c = Number.parseInt(color.slice(i, i + 2), 16) / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    }) as [number, number, number];
    return 0.2126 * r + 0.7152 * g + 0.0722 * bl;
  };
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

describe("colours of the page", () => {
  it.each([
    ["day", DAY],
    ["night", NIGHT],
  ] as [string, Palette][])("text of %s has a contrast of 4.5 or more", (_, p) => {
    for (const text of [p.ink, p.muted, p.accent, p.error, p.warning, p.good, p.critical]) {
      expect(contrast(text, p.panel)).toBeGreaterThanOrEqual(4.5);
      expect(contrast(text, p.paper)).toBeGreaterThanOrEqual(4.5);
    }
    expect(contrast(p.barInk, p.bar)).toBeGreaterThanOrEqual(4.5);
    expect(contrast(p.criticalInk, p.critical)).toBeGreaterThanOrEqual(4.5);
    // Graphics need 3: what is critical against its ground and against what is not.
    expect(contrast(p.critical, p.bar)).toBeGreaterThanOrEqual(3);
  });

  it("knows black on white", () => expect(contrast("#000000", "#ffffff")).toBeCloseTo(21, 6));
});

/** A proof in which every text is of somebody else's making. */
function evilProof(evil: string): ProofReport {
  const run: RunReport = {
    duration_s: 2,
    from_s: 0,
    lanes: [
      { kind: "arm", name: evil, spans: [{ from_s: 0, to_s: 2, text: evil }] },
      {
        kind: "device",
        name: evil,
        spans: [
          { from_s: 0, to_s: 1, text: "moving" },
          { from_s: 1, to_s: 2, text: evil },
        ],
      },
      {
        kind: "output",
        name: evil,
        spans: [
          { from_s: 0, to_s: 1, text: "off" },
          { from_s: 1, to_s: 2, text: "on" },
        ],
      },
    ],
    events: [{ at_s: 1, text: `restart at ${evil}` }],
  };
  const violation = {
    variant: evil,
    kind: evil,
    harmful: true,
    step: evil,
    subject: evil,
    other: evil,
    sentence: evil,
    mend: evil,
    run,
  };
  return {
    verdict: "violated",
    states: 3,
    violations: [violation],
    variants: [
      {
        variant: evil,
        verdict: "undecided",
        reason: evil,
        states: 3,
        rules: [{ name: evil, verdict: "violated", run }],
        waits: [],
      },
    ],
    faults: [
      {
        variant: evil,
        name: evil,
        verdict: "dangerous",
        reason: null,
        detectedAt: [],
        standsAt: [],
        violations: [violation],
        states: 3,
      },
      {
        variant: evil,
        name: evil,
        verdict: "detected",
        reason: null,
        detectedAt: [{ step: evil, message: evil }],
        standsAt: [],
        violations: [],
        states: 3,
      },
    ],
    assumptions: [evil],
  };
}
