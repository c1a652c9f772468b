/** Troubles in words: what goes wrong, in one sentence. */
import type { Trouble } from "./trouble.ts";

/** @param during step under way when it happens */
export function sentenceOf(trouble: Trouble, during: string | undefined): string {
  const { kind, subject, other, stepId } = trouble;
  const at = stepId ?? during;
  const when = at === undefined ? "" : ` during ${at}`;
  switch (kind) {
    case "part-dropped":
      return `${subject} opens${when} while it holds a part that nothing else holds: the part falls.`;
    case "freed-before-clamped":
      return `${subject} lets the part go${when} before ${other} has clamped it: the part falls or is clamped askew.`;
    case "freed-unclamped":
      return `${subject} lets the part go${when} at ${other}, which does not clamp it: the part falls.`;
    case "unclamped-before-held":
      return `${subject} opens${when} before ${other} has closed on the part: the part falls.`;
    case "released-unheld":
      return `${subject} opens${when} while no gripper holds its part: the part falls.`;
    case "moved-while-both-hold":
      return `The arm moves off at ${at} while ${subject} and the clamp still hold the same part: they fight over it.`;
    case "moved-before-jaws":
      return `The arm moves off at ${at} before ${subject} has got where it was told to go.`;
    case "moved-before-clamp":
      return `The arm moves off at ${at} while ${subject}, at which it stands, is still moving.`;
    case "moved-from-inside":
      return `After the stop the arm moves off at ${at} from where it stood inside a machine, on a way that nobody planned.`;
    case "held-by-two-grippers":
      return `${subject} closes${when} on a part at ${other} that another gripper still holds.`;
    case "hold-nothing":
      return `${subject} closes on nothing${when}: there is no part in ${other}.`;
    case "free-nothing":
      return `${subject} opens${when} to leave a part, and holds none.`;
    case "place-occupied":
      return `${subject} leaves a part${when} in ${other}, where another one already is.`;
    case "zone-shared":
      return `${other} moves through ${subject}${when} while the arm is in it.`;
    case "arm-inside-at-start":
      return `${subject} starts${when} while the arm is in ${other}.`;
    case "need-lost":
      return `${other} leaves the position that ${subject} needs${when}, while it runs.`;
    case "process-unclamped":
      return `${subject} starts${when} before ${other} has clamped the part.`;
    case "process-while-held":
      return `${subject} starts${when} while a gripper still holds the part in ${other}.`;
    case "taken-in-process":
      return `A gripper closes${when} on the part in ${other} while ${subject} works on it.`;
    case "process-without-part":
      return `${subject} starts${when} with no part in ${other}.`;
    case "start-refused":
      return `${subject} is told to start${when} before what it needs is so: the start is lost.`;
    case "start-while-running":
      return `${subject} is told to start${when} while it still runs: the start is lost.`;
    case "pulse-too-short":
      return `The pulse on ${subject}${when} is too short to be seen for certain.`;
    case "pulses-too-close":
      return `Two pulses on ${subject}${when} follow each other so closely that they may be seen as one.`;
    case "pulse-on-high-signal":
      return `${subject} is already on when its pulse begins${when}: nobody sees an edge.`;
    case "hold-already-closed":
      return `${subject} is already closed when ${at} tells it to close.`;
    case "free-already-open":
      return `${subject} is already open when ${at} tells it to open.`;
    case "stale-input":
      return `The wait at ${at} passes on ${subject} as it was before, not as it is.`;
    case "limit-passed":
      return `The limit of ${at} can pass though nothing fails: ${subject} does not come in time.`;
    case "gripper-not-commanded":
      return `${subject} has no output that moves it, yet ${at} tells it to.`;
  }
}
