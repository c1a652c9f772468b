/** Colours of the sheet: ink on paper by day, chalk on blueprint by night. Each text colour has a contrast of at least 4.5 to its ground. */
export interface Palette {
  readonly paper: string;
  /** Ground of tables and plots. */
  readonly panel: string;
  readonly ink: string;
  readonly muted: string;
  readonly line: string;
  readonly accent: string;
  readonly error: string;
  readonly warning: string;
  readonly good: string;
  /** Bars off and on the critical path, with the text on them. */
  readonly bar: string;
  readonly barInk: string;
  readonly critical: string;
  readonly criticalInk: string;
}

export const DAY: Palette = {
  paper: "#f6f4ec",
  panel: "#fdfcf8",
  ink: "#17293a",
  muted: "#4a5b69",
  line: "#b4bec5",
  accent: "#1b5480",
  error: "#a01d1a",
  warning: "#7a4a00",
  good: "#1d6338",
  bar: "#c4d3de",
  barInk: "#17293a",
  critical: "#b2381b",
  criticalInk: "#ffffff",
};

export const NIGHT: Palette = {
  paper: "#0f1b29",
  panel: "#142436",
  ink: "#e4ecf3",
  muted: "#a6b7c6",
  line: "#3a5068",
  accent: "#86bdea",
  error: "#ff9a90",
  warning: "#f2bb66",
  good: "#7fd4a0",
  bar: "#35526e",
  barInk: "#f2f6fa",
  critical: "#ef8254",
  criticalInk: "#1a0d06",
};

/** Custom properties of a style rule. */
export const asProperties = (palette: Palette): string =>
  Object.entries(palette)
    .map(([name, color]) => `--${name}:${color}`)
    .join(";");
