/** The command `wire`, its options and help. */
import type { Command, Option } from "commander";
import type { ExitStatus } from "./exit-status.ts";
import type { Layout } from "./terminal.ts";

export interface WireCommandTools {
  readonly layout: (ascii: true | undefined) => Layout;
  readonly finish: (status: ExitStatus) => void;
  readonly ascii: Option;
  readonly today: () => string;
  readonly exitStatus: string;
}

export function addWireCommand(root: Command, { layout, finish, ascii, today, exitStatus }: WireCommandTools): void {
  root
    .command("wire")
    .description("give signals their points: terminals, remote map, currents, levels, pulses; a drawing")
    .argument("<cell>", "cell file, YAML or JSON")
    .option("--json", "one JSON document on the standard output")
    .option("--csv <file>", "also write the terminal schedule as CSV")
    .option(
      "--drawing <file>",
      "also draw the wiring as .svg; -1, -2 … before the ending when there are several sheets",
    )
    .option("--keep <file>", "a schedule written earlier by --csv: its signals keep their points where they can")
    .addOption(ascii)
    .addHelpText("after", `${exitStatus}\n\nExample: millhand wire cell.yaml --csv points.csv --drawing wiring.svg`)
    .action(
      async (cell: string, options: { json?: true; csv?: string; drawing?: string; keep?: string; ascii?: true }) => {
        const { wire } = await import("./commands/wire.ts");
        const { csv, drawing, keep } = options;
        finish(
          wire({ cell, json: options.json === true, csv, drawing, keep, date: today(), layout: layout(options.ascii) }),
        );
      },
    );
}
