import { expect, it } from "vitest";
import type { GuardReport } from "../check/index.ts";
import { renderCheckPage } from "./check-page.ts";
import { samplePage } from "./sample-data.ts";

const EVIL = `</script><img src=x onerror="alert(1)">`;

const guarding = (name: string): GuardReport => ({
  caution: "Figures for a risk assessment, not one.",
  editions: ["ISO 13855:2010"],
  unknown: [`${name} unknown`],
  stopping: {
    reaction_s: 0.1,
    statedTime_s: null,
    statedDistance_m: 0.2,
    computed: { step: `${name} step`, time_s: 0.39, distance_m: 0.299, joint: name },
  },
  approaches: [
    {
      person: name,
      place: name,
      fenced: 0.5,
      watched: 0.3,
      open: 0.2,
      nearestOpen: { step: name, distance_m: 0.627 },
      nearestFenced: { panel: name, step: name, distance_m: 0.345 },
      zones: [
        {
          zone: name,
          by: "scanner",
          response: "stop",
          needed_m: 1.72,
          reason: `${name} rule`,
          separation_m: 1.5,
          overtravel_m: 0.22,
          placed_m: 1.2,
          missing_m: 0.52,
          time_s: 0.4,
          step: name,
        },
      ],
    },
  ],
  contact: {
    movingMass_kg: 30,
    heaviestLoad_kg: 2,
    regions: [],
    steps: [
      {
        step: name,
        what: name,
        peak_mps: 1.5,
        effectiveMin_kg: 3,
        effectiveMax_kg: 9,
        simplified_kg: 17,
        allowed_mps: 1.234,
        region: "hand",
        surface: name,
        governs: "force",
        ratio: 1.2,
      },
    ],
  },
  monitoring: [
    { person: name, step: name, needed_m: 1.15, distance_m: 0.4, allowed_mps: 0.321, missing: ["intrusion"] },
  ],
  gaps: [{ what: name, step: name, gap_m: 0.015, crushed: ["finger"] }],
  hazards: [
    {
      id: "arm-impact",
      group: "mechanical",
      origin: name,
      consequence: "blow",
      phases: ["operation"],
      persons: [name],
      measures: [name],
      risk: {
        S: { value: 2, reason: name, stated: false },
        F: { value: 1, reason: name, stated: true },
        P: { value: 2, reason: name, stated: false },
        required: "d",
      },
    },
  ],
  functions: [
    {
      name,
      covers: ["arm-impact"],
      required: "d",
      achieved: undefined,
      missing: [`${name} is not stated`],
      replace: [{ part: name, years: 10 }],
      verdict: "cannot be told",
    },
  ],
  costs: null,
});

const page = (name: string) => {
  const sample = samplePage("", "");
  return renderCheckPage({ ...sample, report: { ...sample.report, guarding: guarding(name) } });
};

it("tells every part of guarding, the caution first", () => {
  const text = page("loader");
  const section = text.slice(text.indexOf("</span>Guarding</h2>"));
  expect(section.indexOf("Figures for a risk assessment")).toBeLessThan(section.indexOf("Reaction 0.10"));
  for (const words of [
    "stopping time not stated",
    "1720 mm",
    "520 mm",
    "past neither",
    "345 mm",
    "1234 mm/s",
    "above 1150 mm",
    "321 mm/s",
    "arm-impact",
    "<b>F1</b> stated: loader",
    "loader is not stated",
    "after 10.0 years",
    "15 mm",
  ])
    expect(section).toContain(words);
});

it("has no such section where nothing is stated", () => {
  expect(renderCheckPage(samplePage("", ""))).not.toContain("Guarding</h2>");
});

it("lets no name become markup", () => {
  expect(page(EVIL)).not.toContain("<img src=x");
});
