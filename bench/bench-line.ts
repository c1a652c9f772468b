/** One line of a benchmark: our figure against a reference measured in the same run; less is better. */
export interface BenchLine {
  /** What was measured, with its size: "forward kinematics, offset-wrist 6R". */
  readonly name: string;
  /** In the line's unit: for times, microseconds per piece of work. */
  readonly ours: number;
  /** The reference's figure for the same work; undefined where there is none (absent, or a plain target). */
  readonly reference: number | undefined;
  readonly unit: string;
  /** How many times as fast (short, …) as the reference: reference / ours. Undefined where the target is a plain figure. */
  readonly ratio: number | undefined;
  /** At least this ratio, at most this many microseconds, or at most this much in the line's unit. */
  readonly target: { readonly ratio: number } | { readonly us: number } | { readonly most: number };
  /** Why there is no reference, or what else the reader should know. */
  readonly note?: string;
}

/** A line from two figures, times in microseconds unless a unit is given. */
export function benchLine(
  name: string,
  ours: number,
  reference: number | undefined,
  target: BenchLine["target"],
  note?: string,
  unit = "µs",
): BenchLine {
  const ratio = reference === undefined || "most" in target ? undefined : reference / ours;
  return { name, ours, reference, unit, ratio, target, ...(note !== undefined && { note }) };
}

/** Whether the target is met; undefined where the reference is missing. */
export function meetsTarget(line: BenchLine): boolean | undefined {
  if ("us" in line.target) return line.ours <= line.target.us;
  if ("most" in line.target) return line.ours <= line.target.most;
  return line.ratio === undefined ? undefined : line.ratio >= line.target.ratio;
}

/** One line of text for a terminal. */
export function formatBenchLine(line: BenchLine): string {
  const figure = (value: number | undefined) => {
    if (value === undefined) return "-";
    if (line.unit !== "µs") return `${Number.isInteger(value) ? value : value.toFixed(3)} ${line.unit}`;
    return value >= 1000 ? `${(value / 1000).toFixed(2)} ms` : `${value.toFixed(3)} µs`;
  };
  const { target: wanted } = line;
  const target =
    "ratio" in wanted ? `at least ${wanted.ratio} x` : `at most ${figure("us" in wanted ? wanted.us : wanted.most)}`;
  const met = meetsTarget(line);
  const verdict = met === undefined ? "not measured" : met ? "met" : "MISSED";
  const ratio = line.ratio === undefined ? "" : `  ${line.ratio.toFixed(2)} x`;
  const note = line.note === undefined ? "" : `  (${line.note})`;
  return `${line.name.padEnd(58)} ${figure(line.ours).padStart(12)}  reference ${figure(line.reference).padStart(12)}${ratio}  target ${target}: ${verdict}${note}`;
}
