/** What every command has in common: help, version, unusable arguments, exit status, no stack traces. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { root, run } from "./program.ts";

const COMMANDS = ["check", "cycle", "time", "fk", "ik", "dynamics", "wire", "schema"];
const { version } = JSON.parse(readFileSync(join(root, "package.json"), "utf8")) as { version: string };

let folder: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-cli-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("command line", () => {
  it("prints its version", async () => {
    expect(await run(["--version"])).toEqual({ stdout: `${version}\n`, stderr: "", status: 0 });
  });

  it("prints help for itself and every command, with the exit status", async () => {
    const help = await run(["--help"]);
    expect(help.status).toBe(0);
    for (const command of COMMANDS) {
      expect(help.stdout).toContain(`\n  ${command} `);
      const { stdout, stderr, status } = await run([command, "--help"]);
      expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
      expect(stdout).toContain(`Usage: millhand ${command} `);
      expect(stdout).toContain("--json");
    }
    expect(help.stdout).toContain("2 unusable input");
  });

  it.each([
    [["chek", "x.yaml"], "unknown command 'chek'\n(Did you mean check?)"],
    [["check", "x.yaml", "--htm", "a"], "unknown option '--htm'\n(Did you mean --html?)"],
    [["check"], "missing required argument 'cell'"],
    [["check", "a.yaml", "b.yaml"], "too many arguments for 'check'"],
    [["fk"], "required option '--arm <file>' not specified"],
    [["cycle", "x.yaml", "--pace", "brisk"], "Allowed choices are fastest, nominal, slowest."],
    [["dynamics", "--arm", "x", "--gravity", "0,0"], "Expected three numbers with commas between them"],
    [["dynamics", "--arm", "x", "--gravity", "0,0,"], "Expected three numbers with commas between them"],
  ])("refuses %j with status 2 and says why", async (args, message) => {
    const { stdout, stderr, status } = await run(args);
    expect(status).toBe(2);
    expect(stdout).toBe("");
    expect(stderr).toMatch(/^millhand: /);
    expect(stderr).toContain(message);
  });

  it("prints help on the error output when no command is given", async () => {
    const { stdout, stderr, status } = await run([]);
    expect({ stdout, status }).toEqual({ stdout: "", status: 2 });
    expect(stderr).toContain("Usage: millhand ");
  });

  it("refuses files that are no cells, without a stack trace", async () => {
    const file = (name: string, content: string | Buffer) => {
      writeFileSync(join(folder, name), content);
      return join(folder, name);
    };
    const rubbish = file("rubbish.yaml", Buffer.from(Array.from({ length: 3000 }, (_, i) => (i * 7919) % 256)));
    const letters = [..."abcdefgh"];
    const bombLines = letters.map(
      (c, i) =>
        `${c}: &${c} [${
          i === 0
            ? "x"
            : Array(9)
                .fill(`*${letters[i - 1]}`)
                .join(", ")
        }]`,
    );
    const bomb = file("bomb.yaml", `${bombLines.join("\n")}\n`);
    const cut = file("cut.urdf", "<robot><link");
    const large = file("large.yaml", "a: 1\n".repeat(2_000_000));
    const none = join(folder, "none.yaml");
    const cases = [
      ...[rubbish, bomb, cut, large, folder, "/dev/zero", none].map((path) => ["check", path]),
      ...[rubbish, cut, none].map((path) => ["fk", "--arm", path]),
      ["cycle", rubbish],
      ["time", rubbish],
      ["ik", "--arm", rubbish],
      ["dynamics", "--arm", rubbish],
    ];
    for (const args of cases) {
      const { stdout, stderr, status } = await run(args);
      expect({ args, status, stdout }).toEqual({ args, status: 2, stdout: "" });
      expect(stderr).toMatch(/^millhand: /);
      expect(stderr).not.toMatch(/\n\s+at |this is a bug|Error:/);
      expect(stderr.length).toBeLessThan(20_000);
    }
  });

  it("prints the JSON Schema of the cell file", async () => {
    const { stdout, stderr, status } = await run(["schema"]);
    expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
    const schema = JSON.parse(stdout) as { $schema: string; properties: Record<string, unknown> };
    expect(schema.$schema).toContain("json-schema.org");
    for (const section of ["cell", "arm", "tool", "parts", "machines", "routines"])
      expect(schema.properties).toHaveProperty(section);
    expect(JSON.parse((await run(["schema", "--json"])).stdout)).toEqual({ schemaVersion: 1, schema });
  });
});
