/** A bar on the error output for work that takes long, shown only to people: on a terminal, and not for short work. */
import type { SingleBar } from "cli-progress";

/** Work shorter than this shows no bar, ms. */
const PATIENCE = 300;

export interface ProgressBar {
  update(share: number, doing: string): void;
  /** Takes the bar away. */
  stop(): void;
}

/** A bar that appears when the work is still going on after a moment. */
export function progressBar(output: NodeJS.WriteStream, enabled: boolean): ProgressBar {
  if (!enabled || !output.isTTY) return { update: () => {}, stop: () => {} };
  let bar: SingleBar | undefined;
  let stopped = false;
  let share = 0;
  let doing = "";
  const timer = setTimeout(async () => {
    const { default: progress } = await import("cli-progress");
    if (stopped) return;
    bar = new progress.SingleBar({
      format: "{bar} {percentage} % {doing}",
      stream: output,
      clearOnComplete: true,
      hideCursor: true,
      barCompleteChar: "#",
      barIncompleteChar: "-",
      barsize: 30,
      gracefulExit: false,
    });
    bar.start(100, Math.round(100 * share), { doing });
  }, PATIENCE);
  return {
    update(nextShare, nextDoing) {
      share = nextShare;
      doing = nextDoing;
      bar?.update(Math.round(100 * share), { doing });
    },
    stop() {
      stopped = true;
      clearTimeout(timer);
      bar?.stop();
    },
  };
}
