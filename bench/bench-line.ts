/** One line of a benchmark: our time against a reference measured in the same run. */
export interface BenchLine {
  /** What was measured, with its size: "forward kinematics, offset-wrist 6R". */
  readonly name: string;
  /** Microseconds per piece of work. */
  readonly ours_us: number;
  /** Microseconds of the reference for the same work; undefined where there is none (absent, or a plain time target). */
  readonly reference_us: number | undefined;
  /** How many times as fast as the reference: reference_us / ours_us. */
  readonly ratio: number | undefined;
  /** At least this ratio, or at most this many microseconds. */
  readonly target: { readonly ratio: number } | { readonly us: number };
  /** Why there is no reference, or what else the reader should know. */
  readonly note?: string;
}

/** A line from two times. */
export function benchLine(
  name: string,
  ours_us: number,
  reference_us: number | undefined,
  target: BenchLine["target"],
  note?: string,
): BenchLine {
  const ratio = reference_us === undefined ? undefined : reference_us / ours_us;
  return { name, ours_us, reference_us, ratio, target, ...(note !== undefined && { note }) };
}

/** Whether the target is met; undefined where the reference is missing. */
export function meetsTarget(line: BenchLine): boolean | undefined {
  if ("us" in line.target) return line.ours_us <= line.target.us;
  return line.ratio === undefined ? undefined : line.ratio >= line.target.ratio;
}

/** One line of text for a terminal. */
export function formatBenchLine(line: BenchLine): string {
  const time = (us: number | undefined) =>
    us === undefined ? "-" : us >= 1000 ? `${(us / 1000).toFixed(2)} ms` : `${us.toFixed(3)} µs`;
  const target = "us" in line.target ? `at most ${time(line.target.us)}` : `at least ${line.target.ratio} x`;
  const met = meetsTarget(line);
  const verdict = met === undefined ? "not measured" : met ? "met" : "MISSED";
  const ratio = line.ratio === undefined ? "" : `  ${line.ratio.toFixed(2)} x`;
  const note = line.note === undefined ? "" : `  (${line.note})`;
  return `${line.name.padEnd(58)} ${time(line.ours_us).padStart(12)}  reference ${time(line.reference_us).padStart(12)}${ratio}  target ${target}: ${verdict}${note}`;
}
