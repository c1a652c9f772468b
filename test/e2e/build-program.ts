/** Builds the program once for all tests of its outside, into a folder of its own, so that they test what is now in src. */
import { join } from "node:path";
import { build } from "tsdown";
import type { TestProject } from "vitest/node";

declare module "vitest" {
  interface ProvidedContext {
    /** Path of the built program. */
    program: string;
  }
}

export default async function setup(project: TestProject): Promise<void> {
  const { root } = project.vitest.config;
  const outDir = join(root, "build", "e2e");
  await build({ outDir, logLevel: "warn", entry: ["src/cli/main.ts"], dts: false });
  project.provide("program", join(outDir, "main.js"));
}
