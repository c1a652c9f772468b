/** The commands, their options and help; each command's program is loaded only when it runs. */
import { Command, CommanderError, InvalidArgumentError, Option } from "commander";
import { measures, parseQuantity, sameDimension } from "../cell/form/quantity.ts";
import type { Pace } from "../cycle/types.ts";
import { ExitStatus, UnusableInput } from "./exit-status.ts";
import { watchInterruption } from "./interruption.ts";
import { type Job, JobFailure, type JobResult, runJob } from "./job.ts";
import { claimPicture } from "./picture-file.ts";
import { progressBar } from "./progress-bar.ts";
import { addStudyCommand } from "./study/study-command.ts";
import { type Layout, layoutFor } from "./terminal.ts";
import { version } from "./version.ts";
import { claimFile, discardUnfinished } from "./whole-file.ts";
import { addWireCommand } from "./wire-command.ts";

/** Runs the program with the arguments after its name; `entry` is where its threads start. Sets the exit status. */
export async function runCommandLine(args: readonly string[], entry: URL): Promise<void> {
  let endProgress = () => {};
  let lastWords = () => "";
  watchInterruption(() => {
    endProgress();
    const words = lastWords();
    if (words !== "") process.stderr.write(`millhand: ${words}\n`);
  });
  const lastResort = (error: unknown) => {
    discardUnfinished();
    process.stderr.write(bugMessage(error));
    process.exit(ExitStatus.unusable);
  };
  process.on("uncaughtException", lastResort);
  process.on("unhandledRejection", lastResort);

  const finish = (status: ExitStatus) => {
    process.exitCode = status;
  };
  const longJob = async (job: Job) => {
    const bar = progressBar(process.stderr, true);
    endProgress = () => bar.stop();
    try {
      return await runJob(entry, job, bar.update);
    } finally {
      bar.stop();
    }
  };

  const threads = () => {
    const bar = progressBar(process.stderr, true);
    endProgress = () => bar.stop();
    return {
      entry,
      onProgress: bar.update,
      onStop: (say: () => string) => {
        lastWords = say;
      },
      stop: () => bar.stop(),
    };
  };

  try {
    await program(longJob, threads, finish).parseAsync(args, { from: "user" });
  } catch (error) {
    if (error instanceof CommanderError) {
      finish(error.exitCode === 0 ? ExitStatus.done : ExitStatus.unusable);
    } else if (error instanceof UnusableInput) {
      process.stderr.write(`millhand: ${error.message}\n`);
      finish(ExitStatus.unusable);
    } else lastResort(error);
  }
}

type LongJob = (job: Job) => ReturnType<typeof runJob>;
type Finish = (status: ExitStatus) => void;
type Threads = Parameters<typeof addStudyCommand>[1]["reporting"];

const EXIT_STATUS = `
Exit status: 0 done, no finding of severity error; 1 findings of severity error; 2 unusable input; 3 interrupted.`;

function program(longJob: LongJob, threads: Threads, finish: Finish): Command {
  /** Prints what a job says, its messages first, and ends with its status. */
  const tell = ({ stderr, stdout, status }: JobResult): void => {
    process.stderr.write(stderr);
    process.stdout.write(stdout);
    finish(status);
  };
  const root = new Command("millhand")
    .description("Engineers a robotic machine-tending cell from one readable cell file.")
    .version(version, "-V, --version", "print the version")
    .helpOption("-h, --help", "print help")
    .helpCommand("help [command]", "print help for a command")
    .exitOverride()
    .configureOutput({
      outputError: (text, write) => write(`millhand: ${text.replace(/^error: /, "")}`),
    })
    .showHelpAfterError("(millhand --help lists commands and options)")
    .addHelpText("after", EXIT_STATUS);

  root
    .command("check")
    .description("check a cell: reach, motions, cycle time, grip and signals; a verdict with findings")
    .argument("<cell>", "cell file, YAML or JSON")
    .option("--json", "one JSON document on the standard output")
    .option("--html <file>", "also write one self-contained page with charts and plots")
    .option("--picture <file>", "also draw the moment of the least clearance, as .svg or .png")
    .addOption(asciiOption())
    .addHelpText("after", `${EXIT_STATUS}\n\nExample: millhand check cell.yaml --html cell.html`)
    .action(async (cell: string, options: { json?: true; html?: string; picture?: string; ascii?: true }) => {
      const target = options.html === undefined ? undefined : claimFile(options.html);
      let drawing: ReturnType<typeof claimPicture> | undefined;
      try {
        drawing = options.picture === undefined ? undefined : claimPicture(options.picture);
        const result = await longJob({
          kind: "check",
          cell,
          json: options.json === true,
          page: target === undefined ? undefined : { date: today() },
          picture: drawing?.format,
          layout: layout(options.ascii),
        });
        if (result.page !== undefined) target?.finish(result.page);
        if (result.picture !== undefined) drawing?.file.finish(result.picture);
        tell(result);
      } finally {
        target?.discard();
        drawing?.file.discard();
      }
    });

  root
    .command("cycle")
    .description("simulate the routine: cycle chart, period, spindle idle, parts per hour, critical path")
    .argument("<cell>", "cell file, YAML or JSON")
    .option("--json", "one JSON document on the standard output")
    .addOption(
      new Option("--pace <pace>", "which end of every time range to take")
        .choices(["fastest", "nominal", "slowest"])
        .default("nominal"),
    )
    .option("--variant <part>", "part to run; default the first of the cell")
    .addOption(
      new Option("--days [count]", "simulate days with stops, tool changes, trays and shifts")
        .argParser(parseDays)
        .preset(28),
    )
    .option("--money", "cost per part, payback, net present value, rate of return, and what matters")
    .option("--compare <cell>", "another cell file beside this one; may be given more than once", addTo, [] as string[])
    .option(
      "--vary <change>",
      'a variation, "faster door: lathe.door time 50 %"; may be given more than once',
      addTo,
      [] as string[],
    )
    .addOption(new Option("--replications <count>", "simulations of the days").argParser(parseReplications).default(10))
    .addOption(new Option("--seed <number>", "of days and trials").argParser(parseSeed).default(1))
    .addOption(
      new Option("--tornado-of <figure>", "what the tornado is about").choices(["npv", "cost-per-part"]).default("npv"),
    )
    .option("--tornado <file>", "also draw the tornado, as .svg or .png")
    .addOption(asciiOption())
    .addHelpText(
      "after",
      `
With --days, --money, --compare or --vary, days and money are printed in place of the chart.
${EXIT_STATUS}

Example: millhand cycle cell.yaml --days 365 --money --vary "bigger tray: filling 96, investment +3000"`,
    )
    .action(async (cell: string, options: CycleArguments) => {
      let drawing: ReturnType<typeof claimPicture> | undefined;
      try {
        drawing = options.tornado === undefined ? undefined : claimPicture(options.tornado);
        const wanted = options.days !== undefined || options.money === true || drawing !== undefined;
        const compares = options.compare.length + options.vary.length > 0;
        const result = await longJob({
          kind: "cycle",
          cell,
          json: options.json === true,
          pace: options.pace,
          variant: options.variant,
          production:
            wanted || compares
              ? {
                  days: options.days ?? 28,
                  replications: options.replications,
                  seed: options.seed,
                  showDays: options.days !== undefined,
                  showMoney: options.money === true || drawing !== undefined,
                  tornado: options.tornadoOf === "npv" ? "npv" : "costPerPart",
                  compare: options.compare,
                  vary: options.vary,
                }
              : undefined,
          picture: drawing?.format,
          layout: layout(options.ascii),
        });
        if (result.picture !== undefined) drawing?.file.finish(result.picture);
        tell(result);
      } finally {
        drawing?.file.discard();
      }
    });

  root
    .command("prove")
    .description("prove the interlocks of a cell over every interleaving, and under faults, stops and restarts")
    .argument("<cell>", "cell file, YAML or JSON")
    .option("--json", "one JSON document on the standard output")
    .option("--fault <name>", "suppose only this fault; may be given more than once", addTo, [] as string[])
    .option("--no-faults", "suppose no fault")
    .option("--list-faults", "print the names of the faults that the cell can have, and stop")
    .option("--variant <part>", "part to run; default all that are produced")
    .addOption(
      new Option("--memory <MiB>", "memory for states; what needs more stays undecided")
        .argParser(parseMemory)
        .default(1024),
    )
    .option("--picture <file>", "also draw what goes wrong first as a timing diagram, as .svg or .png")
    .option(
      "--recovery [step]",
      "instead: what to do after a stop in each step, or in this step or routine, planned and proved",
    )
    .option("--cards <file>", "with --recovery: also write the cards as one page to print")
    .addOption(asciiOption())
    .addHelpText(
      "after",
      `
The proof is about the cell file, not about the cell as it is built. It does not take the place of the risk assessment
and of safety functions made by licensed people.

Exit status: 0 the interlocks hold without faults; 1 something can go wrong without a fault, a rule can be broken, or it is
undecided; 2 unusable input; 3 interrupted. With --recovery: 0 every procedure is proved; 1 one is not.

Example: millhand prove cell.yaml --fault "stuck input door-is-open on"
         millhand prove cell.yaml --recovery load --cards load-cards.html`,
    )
    .action(async (cell: string, options: ProveArguments) => {
      if (options.cards !== undefined && options.recovery === undefined)
        throw new UnusableInput("--cards: found without --recovery; expected both");
      if (options.recovery !== undefined) {
        for (const [name, given] of [
          ["--fault", options.faults && options.fault.length > 0],
          ["--no-faults", !options.faults],
          ["--list-faults", options.listFaults === true],
          ["--picture", options.picture !== undefined],
        ] as const)
          if (given) throw new UnusableInput(`${name}: found with --recovery; expected one of the two`);
        const target = options.cards === undefined ? undefined : claimFile(options.cards);
        try {
          const result = await longJob({
            kind: "recovery",
            cell,
            json: options.json === true,
            variant: options.variant,
            step: options.recovery === true ? undefined : options.recovery,
            memory: options.memory,
            cards: target === undefined ? undefined : { date: today() },
            layout: layout(options.ascii),
          });
          if (result.page !== undefined) target?.finish(result.page);
          tell(result);
        } finally {
          target?.discard();
        }
        return;
      }
      let drawing: ReturnType<typeof claimPicture> | undefined;
      try {
        drawing = options.picture === undefined ? undefined : claimPicture(options.picture);
        const result = await longJob({
          kind: "prove",
          cell,
          json: options.json === true,
          faults: !options.faults ? [] : options.fault.length > 0 ? options.fault : undefined,
          variant: options.variant,
          memory: options.memory,
          picture: drawing?.format,
          listFaults: options.listFaults === true,
          layout: layout(options.ascii),
        });
        if (result.picture !== undefined) drawing?.file.finish(result.picture);
        tell(result);
      } finally {
        drawing?.file.discard();
      }
    });

  root
    .command("size")
    .description("size grips, jaws, joint loads and seats from the real motions, with the odds that parts enter")
    .argument("<cell>", "cell file, YAML or JSON")
    .option("--json", "one JSON document on the standard output")
    .option("--variant <part>", "part to run; default all that are produced")
    .addOption(asciiOption())
    .addHelpText("after", EXIT_STATUS)
    .action(async (cell: string, options: { json?: true; variant?: string; ascii?: true }) => {
      const result = await longJob({
        kind: "size",
        cell,
        json: options.json === true,
        variant: options.variant,
        layout: layout(options.ascii),
      });
      tell(result);
    });

  root
    .command("guard")
    .description("figures for the risk assessment: separation, contact, gaps, hazard register, performance levels")
    .argument("<cell>", "cell file, YAML or JSON")
    .option("--json", "one JSON document on the standard output")
    .addOption(asciiOption())
    .addHelpText("after", EXIT_STATUS)
    .action(async (cell: string, options: { json?: true; ascii?: true }) => {
      const result = await longJob({ kind: "guard", cell, json: options.json === true, layout: layout(options.ascii) });
      tell(result);
    });

  addWireCommand(root, { layout, finish, ascii: asciiOption(), today, exitStatus: EXIT_STATUS });

  addStudyCommand(root, { reporting: threads, layout, finish, ascii: asciiOption(), exitStatus: EXIT_STATUS });

  root
    .command("clearance")
    .description("least distance between the arm and what stands around it, JSON Lines in and out")
    .argument("<cell>", "cell file, YAML or JSON")
    .addOption(documentOption())
    .addHelpText(
      "after",
      `
In:  {"id":any,"q":[n]}   joint values, rad (m for a slide)
Out: {"id":any,"clearance_m":m,"pair":[a,b]}   the least distance and its two bodies; negative when they overlap
     Devices stand at their start positions, grippers are empty, parts are not there. Shapes that are not considered
     are named in "messages" of every answer.
${EXIT_STATUS}

Example: millhand clearance cell.yaml < q.jsonl`,
    )
    .action(async (cell: string, options: { json?: true }) => {
      const { clearance } = await import("./commands/clearance.ts");
      finish(await clearance({ cell, asDocument: options.json === true }));
    });

  root
    .command("plan")
    .description("find clear routes of the arm through the cell, JSON Lines in and out")
    .argument("<cell>", "cell file, YAML or JSON")
    .addOption(
      new Option(
        "--margin <length>",
        'distance kept to everything, such as "10 mm"; default: nothing touches, for ways out the clearance of the cell',
      ).argParser(parseMargin),
    )
    .addOption(
      new Option("--states <count>", "most states looked at for one route").argParser(parseStates).default(2_000_000),
    )
    .option("--retreat-from <holder>", "no lines: straight ways into and out of a chuck, nest or tray instead")
    .option("--variant <part>", "with --retreat-from: part to run; default the first of the cell")
    .addOption(documentOption())
    .addHelpText(
      "after",
      `
In:  {"id":any,"start":[n],"goal":[n],"seed":int}   joint values, rad (m for a slide); seed 1 when there is none
Out: {"id":any,"found":true,"path":[[n],...],"length_rad":x,"time_s":s,"clearance_m":m,"states":k}
     The corners of the route, straight in joint values between them; its length; the time of the finished motion, with
     corners rounded as wide as stays clear, from rest to rest; the least distance of any two bodies along both (at
     least so much; null: above 10 m); the states looked at. All of it is certified over the whole length.
     {"id":any,"found":false,"path":[],"length_rad":null,"time_s":null,"reason":text,"proven":bool,"message":text,
     "pair":[a,b],"states":k}   with proven true there is no route, else none was found
     Devices stand at their start positions, grippers are empty, parts are not there.
With --retreat-from the ways are tried as the routine comes to the place, and told as steps of the cell file.
${EXIT_STATUS}

Example: millhand plan cell.yaml --margin "10 mm" < queries.jsonl`,
    )
    .action(
      async (
        cell: string,
        options: { margin?: number; states: number; retreatFrom?: string; variant?: string; json?: true },
      ) => {
        const { plan, retreat } = await import("./commands/plan.ts");
        const { margin, states, retreatFrom: holder, variant } = options;
        const asDocument = options.json === true;
        if (holder !== undefined) finish(await retreat({ cell, holder, margin, variant, asDocument }));
        else finish(await plan({ cell, margin: margin ?? 0, states, asDocument }));
      },
    );

  root
    .command("time")
    .description("time motions of the cell's arm, one per line of JSON Lines")
    .argument("<cell>", "cell file, YAML or JSON")
    .option("--tool [gripper]", "poses are of the tool centre point of a gripper; the first one when none is named")
    .addOption(documentOption())
    .addHelpText(
      "after",
      `
In:  {"id":any,"kind":"joint"|"line"|"arc","points":[...]}
     The arm starts at rest in the first point and stops in each of the others. Points of kind joint are arrays of
     joint values; points of kind line and arc are those or poses of the flange in the base frame, 16 numbers row by
     row. An arc takes two points for each piece: one passed on the way, then its end. Where only the pose of the
     start is known, the branch nearest to the cell's home that can do the motion is taken.
Out: {"id":any,"duration_s":s,"limits":[{"joint":i,"kind":text,"from_s":s,"to_s":s},...],"start":[n],"end":[n]}
     Joints count from 0; kind is velocity, acceleration, jerk or torque, or a limit of the tool without a joint.
     The empty tool is carried where the cell states its mass. A motion that cannot be done gives
     {"id":any,"error":text,"reason":text,"segment":k,"fraction":x} and status 1.
Units are metres, radians and seconds.
${EXIT_STATUS}`,
    )
    .action(async (cell: string, options: { tool?: string | true; json?: true }) => {
      const { time } = await import("./commands/time.ts");
      finish(await time({ cell, tool: options.tool, asDocument: options.json === true }));
    });

  const armCommand = (name: string, description: string) =>
    root
      .command(name)
      .description(description)
      .requiredOption("--arm <file>", "a cell file, a file with only arm: (and tool:), or a URDF file")
      .addOption(documentOption());

  armCommand("fk", "forward kinematics, JSON Lines in and out")
    .option("--tool [gripper]", "pose of the tool centre point of a gripper; the first one when none is named")
    .addHelpText(
      "after",
      `
In:  {"id":any,"q":[n]}   joint values, rad (m for a slide)
Out: {"id":any,"pose":[16]}   base to flange, row-major homogeneous transform, metres
${EXIT_STATUS}

Example: millhand fk --arm cell.yaml < q.jsonl > poses.jsonl`,
    )
    .action(async (options: { arm: string; tool?: string | true; json?: true }) => {
      const { fk } = await import("./commands/fk.ts");
      finish(await fk({ arm: options.arm, tool: options.tool, asDocument: options.json === true }));
    });

  armCommand("ik", "inverse kinematics, every branch inside the joint limits, JSON Lines in and out")
    .option("--tool [gripper]", "poses are of the tool centre point of a gripper; the first one when none is named")
    .option("--all-turns", "also give the copies a whole turn away that are inside the limits")
    .addHelpText(
      "after",
      `
In:  {"id":any,"pose":[16]}   base to flange, row-major homogeneous transform, metres
     A rotation that is off orthonormal by more than 0.000001 is refused; up to there the nearest rotation is taken.
Out: {"id":any,"solutions":[[n],...]}   joint values, rad (m for a slide)
     Out of reach: {"id":any,"solutions":[],"leastSquares":{"q":[n],"position_m":x,"rotation_rad":x}}
${EXIT_STATUS}

Example: millhand ik --arm arm.urdf < poses.jsonl`,
    )
    .action(async (options: { arm: string; tool?: string | true; allTurns?: true; json?: true }) => {
      const { ik } = await import("./commands/ik.ts");
      finish(
        await ik({
          arm: options.arm,
          tool: options.tool,
          allTurns: options.allTurns === true,
          asDocument: options.json === true,
        }),
      );
    });

  armCommand("dynamics", "inverse dynamics: joint torques for a state of motion, JSON Lines in and out")
    .option("--gravity <x,y,z>", "gravity in base axes, m/s²; default that of the cell", parseGravity)
    .addHelpText(
      "after",
      `
In:  {"id":any,"q":[n],"qd":[n],"qdd":[n]}   rad, rad/s, rad/s² (m for a slide)
Out: {"id":any,"torque":[n]}   N m (N for a slide)
${EXIT_STATUS}

Example: millhand dynamics --arm arm.urdf --gravity 0,0,-9.80665 < state.jsonl`,
    )
    .action(async (options: { arm: string; gravity?: [number, number, number]; json?: true }) => {
      const { dynamics } = await import("./commands/dynamics.ts");
      finish(await dynamics({ arm: options.arm, gravity: options.gravity, asDocument: options.json === true }));
    });

  root
    .command("automata")
    .description("explore a network of timed automata in dense time and answer the queries of its file")
    .argument("<file>", "automata file, YAML or JSON")
    .option("--json", "one JSON document on the standard output")
    .option("--query <name>", "answer only this query")
    .addOption(
      new Option("--trace <which>", "which run is shown: fewest moves, or least time")
        .choices(["shortest", "fastest"])
        .default("shortest"),
    )
    .addOption(
      new Option("--memory <MiB>", "memory for states; a query that needs more stays undecided")
        .argParser(parseMemory)
        .default(1024),
    )
    .addOption(asciiOption())
    .addHelpText(
      "after",
      `
Exit status: 0 every query holds; 1 a query is violated or undecided; 2 unusable input; 3 interrupted.

Example: millhand automata fischer.yaml --json`,
    )
    .action(
      async (
        file: string,
        options: { json?: true; query?: string; trace: "shortest" | "fastest"; memory: number; ascii?: true },
      ) => {
        const result = await longJob({
          kind: "automata",
          file,
          json: options.json === true,
          trace: options.trace,
          memory: options.memory,
          query: options.query,
          layout: layout(options.ascii),
        });
        tell(result);
      },
    );

  root
    .command("schema")
    .description("print the JSON Schema of the cell file")
    .option("--json", "the schema inside a document with schemaVersion")
    .action(async (options: { json?: true }) => {
      const { schema } = await import("./commands/schema.ts");
      process.stdout.write(schema(options.json === true));
    });

  for (const command of root.commands) command.configureHelp({ sortOptions: false });
  return root;
}

interface ProveArguments {
  readonly json?: true;
  readonly fault: string[];
  readonly faults: boolean;
  readonly listFaults?: true;
  readonly variant?: string;
  readonly memory: number;
  readonly picture?: string;
  readonly recovery?: string | true;
  readonly cards?: string;
  readonly ascii?: true;
}

interface CycleArguments {
  readonly json?: true;
  readonly pace: Pace;
  readonly variant?: string;
  readonly days?: number;
  readonly money?: true;
  readonly compare: string[];
  readonly vary: string[];
  readonly replications: number;
  readonly seed: number;
  readonly tornadoOf: "npv" | "cost-per-part";
  readonly tornado?: string;
  readonly ascii?: true;
}

const addTo = (value: string, list: string[]): string[] => [...list, value];

const asciiOption = () => new Option("--ascii", "draw with plain characters only");
const documentOption = () => new Option("--json", "one JSON document in place of JSON Lines");

function layout(ascii: true | undefined): Layout {
  const { stdout, env } = process;
  return layoutFor({ isTerminal: stdout.isTTY === true, columns: stdout.columns, env, ascii: ascii === true });
}

/** Day of the check, where it is made. */
function today(): string {
  const now = new Date();
  const two = (value: number) => String(value).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

function parseMemory(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1 || value > 65_536)
    throw new InvalidArgumentError("Expected a whole number of MiB from 1 to 65536.");
  return value;
}

function parseMargin(text: string): number {
  const read = parseQuantity(text);
  if ("value" in read && sameDimension(read.dimension, measures.length.dimension) && !read.share)
    if (read.value >= 0 && read.value <= 10) return read.value;
  throw new InvalidArgumentError('Expected a length with its unit from 0 to 10 m, such as "10 mm".');
}

function parseWhole(text: string, least: number, most: number): number {
  const value = Number(text);
  if (/^\d+$/.test(text) && value >= least && value <= most) return value;
  throw new InvalidArgumentError(`Expected a whole number from ${least} to ${most}.`);
}

const parseDays = (text: string) => parseWhole(text, 1, 36_600);
const parseReplications = (text: string) => parseWhole(text, 1, 1000);
const parseSeed = (text: string) => parseWhole(text, 0, 4_294_967_295);

function parseStates(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1 || value > 1_000_000_000)
    throw new InvalidArgumentError("Expected a whole number from 1 to 1000000000.");
  return value;
}

function parseGravity(text: string): [number, number, number] {
  const parts = text.split(",").map((part) => (part.trim() === "" ? Number.NaN : Number(part)));
  if (parts.length !== 3 || !parts.every(Number.isFinite))
    throw new InvalidArgumentError("Expected three numbers with commas between them, such as 0,0,-9.80665.");
  return parts as [number, number, number];
}

function bugMessage(error: unknown): string {
  const known = error instanceof Error ? error : new Error(String(error));
  const what = known instanceof JobFailure ? known.message : `${known.name}: ${known.message}`;
  const where = process.env["MILLHAND_DEBUG"] === "1" ? `${known.stack ?? ""}\n` : "";
  return `millhand: this is a bug, please report it with the cell file and the command (${what.replaceAll("\n", " ")})\n${where}`;
}
