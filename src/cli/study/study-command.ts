/** The command `study` with its options and help. */
import { type Command, InvalidArgumentError, Option } from "commander";
import type { StudyReporting } from "../commands/study.ts";
import { type ExitStatus, UnusableInput } from "../exit-status.ts";
import type { Layout } from "../terminal.ts";
import { claimFile } from "../whole-file.ts";
import { claimMap, type WantedMap } from "./map-file.ts";

interface Given {
  study?: string;
  baseX?: string;
  baseY?: string;
  baseTurn?: string;
  standHeight?: string;
  random?: number;
  halton?: number;
  seed?: number;
  checks?: number;
  threads?: number;
  results?: string;
  resume?: string;
  csv?: string;
  reachMap?: string;
  clearanceMap?: string;
  mapSteps?: number;
  layout?: number;
  writeCell?: string;
  json?: true;
  ascii?: true;
}

export interface StudyCommandSetting {
  readonly reporting: () => StudyReporting & { readonly stop: () => void };
  readonly layout: (ascii: true | undefined) => Layout;
  readonly finish: (status: ExitStatus) => void;
  readonly ascii: Option;
  readonly exitStatus: string;
}

/** Adds the command to the program. */
export function addStudyCommand(root: Command, setting: StudyCommandSetting): void {
  const whole = (least: number, most: number) => (text: string) => {
    const value = Number(text);
    if (!(/^\d+$/.test(text) && value >= least && value <= most))
      throw new InvalidArgumentError(`Expected a whole number from ${least} to ${most}.`);
    return value;
  };
  root
    .command("study")
    .description("vary where things stand: reach, clearance, joint margin, torque and cycle time of many layouts")
    .argument("<cell>", "cell file, YAML or JSON")
    .option("--study <file>", "study file, YAML or JSON: what to vary and what to compare by")
    .option("--base-x <range>", 'move the base along x, "-200 to 200 mm, 21" (from, to, number of values)')
    .option("--base-y <range>", "move the base along y")
    .option("--base-turn <range>", 'turn the base about the vertical, "-30 to 30 deg, 7"')
    .option("--stand-height <range>", "raise the base and its stand")
    .addOption(
      new Option("--random <count>", "draw this many layouts at random instead of a grid").argParser(
        whole(1, 1_000_000),
      ),
    )
    .addOption(
      new Option("--halton <count>", "take this many points of a Halton sequence instead of a grid")
        .argParser(whole(1, 1_000_000))
        .conflicts("random"),
    )
    .addOption(new Option("--seed <number>", "of the sample, 1 if left out").argParser(whole(0, 4_294_967_295)))
    .addOption(new Option("--checks <count>", "layouts of the front to check in full").argParser(whole(0, 1000)))
    .addOption(new Option("--threads <count>", "threads, one per core if left out").argParser(whole(1, 64)))
    .option("--results <file>", "keep the results in this file as they come, JSON Lines")
    .addOption(new Option("--resume <file>", "go on with the results in this file").conflicts("results"))
    .option("--csv <file>", "also write all layouts as CSV")
    .option("--reach-map <file>", "also map what the arm reaches by where its base stands: .svg, .png, .json or .csv")
    .option("--clearance-map <file>", "also map the arm's least clearance by where its base stands")
    .addOption(
      new Option("--map-steps <count>", "points of a map along each side, 41 if left out").argParser(whole(2, 1000)),
    )
    .addOption(
      new Option("--layout <number>", "also tell what to change in the cell's files for this layout").argParser(
        whole(0, 1_000_000),
      ),
    )
    .option("--write-cell <folder>", "with --layout: write the cell's files with these changes into a new folder")
    .option("--json", "one JSON document on the standard output")
    .addOption(setting.ascii)
    .addHelpText(
      "after",
      `
Everything varied is added to what the cell file states; layout 0 is the present one. Each axis is also changed alone.
Cycle time and torque are estimates, clearance is exact at the positions looked at and sampled between them; the layouts
that are checked in full get the figures of millhand check.
${setting.exitStatus}
A study in which no layout works ends with status 1.

Example: millhand study cell.yaml --base-x "-200 to 200 mm, 21" --base-y "-200 to 200 mm, 21"`,
    )
    .action(async (cell: string, given: Given) => {
      const csv = given.csv === undefined ? undefined : claimFile(given.csv, { what: "table", ending: ".csv" });
      if (given.writeCell !== undefined && given.layout === undefined)
        throw new UnusableInput("--write-cell needs --layout and the number of the layout to write");
      const maps: WantedMap[] = [];
      const reporting = setting.reporting();
      try {
        if (given.reachMap !== undefined) maps.push(claimMap(given.reachMap, "reach"));
        if (given.clearanceMap !== undefined) maps.push(claimMap(given.clearanceMap, "clearance"));
        const { study } = await import("../commands/study.ts");
        const range = (option: string, text: string | undefined) => (text === undefined ? {} : { option, text });
        const base = Object.fromEntries(
          (
            [
              ["x", range("--base-x", given.baseX)],
              ["y", range("--base-y", given.baseY)],
              ["turn", range("--base-turn", given.baseTurn)],
              ["height", range("--stand-height", given.standHeight)],
            ] as const
          ).filter(([, value]) => "text" in value),
        );
        const status = await study(
          {
            cell,
            base,
            maps,
            json: given.json === true,
            layout: setting.layout(given.ascii),
            ...(given.study === undefined ? {} : { study: given.study }),
            ...(given.random === undefined ? {} : { random: given.random }),
            ...(given.halton === undefined ? {} : { halton: given.halton }),
            ...(given.seed === undefined ? {} : { seed: given.seed }),
            ...(given.checks === undefined ? {} : { checks: given.checks }),
            ...(given.threads === undefined ? {} : { threads: given.threads }),
            ...(given.results === undefined ? {} : { results: given.results }),
            ...(given.resume === undefined ? {} : { resume: given.resume }),
            ...(csv === undefined ? {} : { csv }),
            ...(given.mapSteps === undefined ? {} : { mapSteps: given.mapSteps }),
            ...(given.layout === undefined ? {} : { take: given.layout }),
            ...(given.writeCell === undefined ? {} : { writeCell: given.writeCell }),
          },
          reporting,
        );
        reporting.stop();
        setting.finish(status);
      } finally {
        reporting.stop();
        csv?.discard();
        for (const { file } of maps) file.discard();
      }
    });
}
