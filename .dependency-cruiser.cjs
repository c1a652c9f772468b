// The floors of the house (docs/explanation/architecture.md): imports run downward only.
const floors = [
  ["math"],
  ["cell"],
  ["arm", "clearance"],
  ["motion", "route"],
  ["cycle", "production", "proof", "handling", "guarding", "wiring", "commissioning"],
  ["check", "study", "store"],
  ["dossier", "exchange", "rehearse"],
  ["cli", "workbench"],
];
const core = [
  "math",
  "cell",
  "arm",
  "clearance",
  "motion",
  "route",
  "cycle",
  "production",
  "proof",
  "handling",
  "guarding",
  "wiring",
  "commissioning",
  "check",
  "study",
  "dossier",
  "exchange",
];
// Pairs on one floor where one may use the other.
const sideways = new Set(["clearance>arm", "route>motion", "study>check"]);

const downwardOnly = floors.flatMap((floor, level) =>
  floor
    .map((name) => {
      const above = floors.slice(level + 1).flat();
      const beside = floor.filter((other) => other !== name && !sideways.has(`${name}>${other}`));
      return {
        name: `floor-${name}-looks-down-only`,
        comment: `src/${name} may not import from the floors above it or from its neighbours`,
        severity: "error",
        from: { path: `^src/${name}/` },
        to: { path: `^src/(${[...above, ...beside].join("|")})/` },
      };
    })
    .filter((rule) => !rule.to.path.includes("()")),
);

module.exports = {
  forbidden: [
    ...downwardOnly,
    {
      name: "no-cycles",
      severity: "error",
      from: {},
      to: { circular: true, viaOnly: { dependencyTypesNot: ["type-only"] } },
    },
    {
      name: "core-is-pure",
      comment: "The core runs in the browser: no Node built-ins",
      severity: "error",
      from: { path: `^src/(${core.join("|")})/`, pathNot: "\\.test\\.ts$" },
      to: { dependencyTypes: ["core"] },
    },
    {
      name: "every-folder-is-a-floor",
      comment: "A new folder under src must be given a floor in this file",
      severity: "error",
      from: { path: "^src/", pathNot: `^src/(${floors.flat().join("|")})/` },
      to: {},
    },
    {
      name: "not-to-tests",
      severity: "error",
      from: { path: "^src/", pathNot: "\\.test\\.ts$" },
      to: { path: "\\.test\\.ts$" },
    },
  ],
  options: {
    doNotFollow: { path: "node_modules" },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: "tsconfig.json" },
    enhancedResolveOptions: {
      extensions: [".ts", ".js"],
      exportsFields: ["exports"],
      conditionNames: ["import", "node"],
    },
  },
};
