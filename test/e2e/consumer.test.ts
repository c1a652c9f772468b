/** What package.json exports, as another program uses it: every floor resolves, has declarations and runs. */
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, expect, it } from "vitest";
import { root } from "./program.ts";

const floors = Object.keys(
  (JSON.parse(readFileSync(join(root, "package.json"), "utf8")) as { exports: object }).exports,
);

let folder: string;
beforeAll(() => {
  // Does nothing where the package is built and fresh.
  expect(spawnSync(process.execPath, [join(root, "scripts", "prepare.mjs")]).status).toBe(0);
  folder = mkdtempSync(join(tmpdir(), "millhand-consumer-"));
  mkdirSync(join(folder, "node_modules"));
  symlinkSync(root, join(folder, "node_modules", "millhand"), "dir");
}, 120_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function runNode(args: string[]): { status: number | null; output: string } {
  const { status, stdout, stderr } = spawnSync(process.execPath, args, { cwd: folder, encoding: "utf8" });
  return { status, output: stdout + stderr };
}

it("serves every floor that has a public surface", () => {
  const floorsOf = (folder: string) =>
    readdirSync(folder).filter((floor) => readdirSync(join(folder, floor)).includes("index.ts"));
  expect(floors.map((name) => name.slice(2)).sort()).toEqual(floorsOf(join(root, "src")).sort());
});

it("type-checks in a strict program that sees the declarations only", () => {
  const imports = floors.map((name, i) => `import * as floor${i} from "millhand/${name.slice(2)}";`);
  writeFileSync(
    join(folder, "consumer.mts"),
    `${imports.join("\n")}
import { type Arm, buildArm, createInverse } from "millhand/arm";
import { loadCell } from "millhand/cell";
import { checkCell } from "millhand/check";
const loaded = loadCell("cell.yaml", { read: () => ({ text: "cell: none" }) });
if (loaded.ok) {
  const arm: Arm = buildArm(loaded.value.arm);
  const rows: number = createInverse(arm).maxSolutions;
  const outcome = checkCell(loaded.value);
  // @ts-expect-error \`ok\` must be asked first
  outcome.report;
  // @ts-expect-error a number is no text
  const wrong: string = rows;
  void wrong;
}
void [${floors.map((_, i) => `floor${i}`).join(", ")}];
`,
  );
  const options = "--noEmit --strict --target ES2023 --lib ES2023 --module nodenext".split(" ");
  const tsc = join(root, "node_modules", "typescript", "bin", "tsc");
  expect(runNode([tsc, ...options, "consumer.mts"])).toEqual({ status: 0, output: "" });
});

it("runs in a plain program", () => {
  writeFileSync(
    join(folder, "consumer.mjs"),
    `import { forcePerJaw } from "millhand/handling";
const floors = await Promise.all(${JSON.stringify(floors.map((f) => `millhand/${f.slice(2)}`))}.map((name) => import(name)));
if (floors.some((floor) => Object.keys(floor).length === 0)) throw new Error("a floor exports nothing");
console.log(forcePerJaw({ mass: 1, acceleration: 5, gravity: 9.81, friction: 0.15, safetyFactor: 2, jaws: 2 }).toFixed(3));
`,
  );
  expect(runNode(["consumer.mjs"])).toEqual({ status: 0, output: "98.733\n" });
});
