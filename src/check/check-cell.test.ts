import { expect, it } from "vitest";
import { loadCell } from "../cell/index.ts";
import { checkCell } from "./check-cell.ts";

const withoutParts = `
cell: Bare
arm:
  name: Three
  dh: standard
  joints:
    - { name: J1, d: 400 mm, alpha: 90 deg, range: [-170, 170 deg], speed: 200 deg/s }
    - { name: J2, a: 450 mm, range: [-30, 210 deg], speed: 200 deg/s }
    - { name: J3, a: 350 mm, range: [-150, 150 deg], speed: 220 deg/s }
poses: { home: { joints: [0, 90, 0 deg] } }
routines: { main: [{ go: home }] }
`;

it("does not call a cell feasible for which nothing was run", () => {
  const loaded = loadCell("cell.yaml", { read: () => ({ text: withoutParts }) });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  const outcome = checkCell(loaded.value);
  if (!outcome.ok) throw new Error(outcome.reason);
  const { verdict, findings } = outcome.report;
  expect(verdict).toBe("not feasible");
  expect(findings.filter((f) => f.severity === "error").map((f) => f.code)).toEqual(["nothing-run"]);
  expect(findings.find((f) => f.code === "nothing-run")!.line).toBeGreaterThan(0);
});

it("does not call a cell feasible whose routine has no steps", () => {
  const empty = withoutParts
    .replace("[{ go: home }]", "[]")
    .replace(
      "poses:",
      "parts: { pin: { stages: { raw: { mass: 1 kg, centre: [0, 0, 0 mm] } }, grips: { end: { width: 10 mm } } } }\nposes:",
    );
  const loaded = loadCell("cell.yaml", { read: () => ({ text: empty }) });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  const outcome = checkCell(loaded.value);
  if (!outcome.ok) throw new Error(outcome.reason);
  expect(outcome.report.verdict).toBe("not feasible");
  expect(outcome.report.findings.filter((f) => f.severity === "error").map((f) => f.code)).toEqual(["nothing-run"]);
});

it("says which links are stated to weigh nothing", () => {
  const links =
    "links: { J1: { mass: 3 kg, centre: [0, 0, 0 mm] }, J2: { mass: 0 kg, centre: [0, 0, 0 mm] }, J3: { mass: 1 kg, centre: [0, 0, 0 mm] } }";
  const loaded = loadCell("cell.yaml", {
    read: () => ({ text: withoutParts.replace("poses:", `  ${links}\nposes:`) }),
  });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  const outcome = checkCell(loaded.value);
  if (!outcome.ok) throw new Error(outcome.reason);
  const messages = outcome.report.findings.filter((f) => f.code === "torques-unknown").map((f) => f.message);
  expect(messages.join("; ")).toContain("what J2 moves is stated to weigh 0 kg");
});
