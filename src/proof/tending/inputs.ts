/** Inputs: seen at any time within a scan after a change; those that a person works may be given at any moment. */
import { type Ground, longest } from "./ground.ts";
import { both } from "./network-writer.ts";

export function addInputs(ground: Ground): void {
  for (const [name, input] of ground.inputs) {
    if (input.change !== undefined) addScan(ground, name);
    const signal = ground.cell.signals.get(name)!;
    if (signal.operator !== undefined && input.asked !== undefined)
      addPerson(ground, name, signal.operator.delay.max, signal.operator.hold);
  }
}

function addScan(ground: Ground, name: string): void {
  const { level, seen, change } = ground.inputs.get(name)!;
  const automaton = ground.writer.automaton("scan", name);
  const clock = ground.writer.clock("unseen", name);
  automaton.location("same");
  automaton.location("changed", `${clock} <= ${ground.scan}`);
  automaton.edge("same", "changed", { receive: change!, reset: [clock] });
  // Back before it was seen: nothing was.
  automaton.edge("changed", "same", { receive: change! });
  const stuck = ground.isFaulty("stuck input", name);
  if (stuck) automaton.edge("changed", "same", { guard: `${ground.faulty} = 1` });
  for (const on of [true, false]) {
    const value = on ? 1 : 0;
    automaton.edge("changed", "same", {
      guard: both(`${level} = ${value}`, stuck ? `${ground.faulty} = 0` : undefined)!,
      update: [`${seen} := ${value}`],
      events: [{ kind: "signal", signal: name, level: on, seen: true }],
    });
  }
  automaton.done("same");
}

/**
 * A person: gives the signal at any moment, and within the longest delay once the arm waits for it. Held for the stated time
 * when one is stated, else until the arm waits for it to be off.
 */
function addPerson(ground: Ground, name: string, delay: number, hold: number | undefined): void {
  const { asked, wanted } = ground.inputs.get(name)!;
  const automaton = ground.writer.automaton("person", name);
  const clock = ground.writer.clock("since", name);
  const most = longest(delay);
  const given = (level: boolean, guard?: string) =>
    ground.setInput(name, level).map((a) => ({ ...a, guard: both(a.guard, guard)!, reset: [clock] }));
  // While the arm waits, the time since it began to or since the button came back is bounded.
  automaton.location("off", `${wanted!} = 1 implies ${clock} <= ${most}`);
  automaton.edge("off", "off", { receive: asked!, reset: [clock] });
  automaton.chain("off", "on", [given(true)]);
  if (hold === undefined) {
    automaton.location("on", `${wanted!} = 2 implies ${clock} <= ${most}`);
    automaton.edge("on", "on", { receive: asked!, reset: [clock] });
    automaton.chain("on", "off", [given(false, `${wanted!} = 2`)]);
  } else {
    automaton.location("on", `${clock} <= ${longest(hold)}`);
    automaton.chain("on", "off", [given(false, `${clock} >= ${longest(hold)}`)]);
  }
  automaton.done(ground.cell.signals.get(name)!.initial ? "on" : "off");
}
