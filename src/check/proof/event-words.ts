/** What happens in a counterexample, in a few words. */
import type { RunEvent } from "../../proof/index.ts";

/** @returns undefined for what a reader does not need: the trouble itself is told by its sentence */
export function eventWords(event: RunEvent["event"]): string | undefined {
  switch (event.kind) {
    case "step":
      return `${event.stepId} ${event.what}`;
    case "signal": {
      const level = event.level ? "on" : "off";
      return event.seen ? `${event.signal} is seen ${level}` : `${event.signal} goes ${level}`;
    }
    case "device":
      return `${event.device} ${event.what} ${event.position}`;
    case "process":
      return `${event.process} ${event.what}`;
    case "part":
      return event.what === "held" || event.what === "let go"
        ? `${event.holder} ${event.what === "held" ? "holds the part" : "lets the part go"}`
        : `the part in ${event.holder} is ${event.what}`;
    case "pass":
      return `${event.stepId}: next pass`;
    case "stop":
      return `${event.stepId} stops: ${event.message}`;
    case "end":
      return "the routine is over";
    case "fault":
      return "the fault happens";
    case "restart":
      return event.stepId === undefined ? "restart from the top" : `restart at ${event.stepId}`;
    case "trouble":
      return undefined;
  }
}
