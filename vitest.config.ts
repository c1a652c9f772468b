import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    testTimeout: 60_000,
    maxWorkers: 2,
    typecheck: { enabled: false },
    projects: [
      {
        extends: true,
        test: { name: "floors", include: ["src/**/*.test.ts", "test/**/*.test.ts"], exclude: ["test/e2e/**"] },
      },
      // Built only when one of these is run.
      {
        extends: true,
        test: { name: "outside", include: ["test/e2e/**/*.test.ts"], globalSetup: ["test/e2e/build-program.ts"] },
      },
    ],
  },
});
