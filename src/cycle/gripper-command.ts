/** How `hold` and `free` move a gripper: by the outputs of its command. */
import type { DeviceRun } from "./devices.ts";
import { later, startOf } from "./log.ts";
import { RANK } from "./queue.ts";
import { report, type World } from "./world.ts";

/** Switches the outputs that send the gripper to the position; `activity` is the arm's `hold` or `free`. */
export function commandGripper(world: World, run: DeviceRun, position: string, activity: number): void {
  const { board, queue } = world;
  const { command, name } = run.device;
  const cause = startOf(activity);
  if (run.target === position) return;
  const pulse = (signal: string, width: number): void => {
    board.set(signal, true, cause, width);
    queue.schedule(queue.now + width, RANK.device, () => board.set(signal, false, later(cause, width)));
  };
  switch (command.style) {
    case "level":
      board.set(command.signal, position === command.on, cause);
      break;
    case "pair":
      for (const [other, signal] of command.signals) if (other !== position) board.set(signal, false, cause);
      board.set(command.signals.get(position) ?? "", true, cause);
      break;
    case "pulse":
      pulse(command.signals.get(position) ?? "", command.width);
      break;
    case "toggling pulse":
      pulse(command.signal, command.width);
      break;
    case "none":
      report(world, {
        code: "gripper-not-commanded",
        severity: "error",
        stepId: world.step(),
        subject: name,
        message: `${name} has no output that moves it, yet the step asks it to become ${position}.`,
        mend: `Give ${name} a command, such as one output: { level: SIGNAL, on: closed, off: open }.`,
      });
      run.moveTo(position, [cause]);
      break;
  }
}
