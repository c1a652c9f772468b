/** Timed processes of machines as automata: accepted or refused at their start signal, running beside the arm. */
import type { Process } from "../../cell/model.ts";
import { type MachineCalls, machineCall } from "./devices.ts";
import { type Ground, lasting, longest } from "./ground.ts";
import { type Action, type AutomatonWriter, both, either, notThat } from "./network-writer.ts";

export function addProcesses(ground: Ground, calls: MachineCalls): void {
  for (const process of ground.processes) addProcess(ground, process, calls);
}

function addProcess(ground: Ground, process: Process, calls: MachineCalls): void {
  const { name, start } = process;
  const automaton = ground.writer.automaton("process", name);
  const clock = ground.writer.clock("time", name);
  const running = ground.running.get(name)!;
  const working = ground.working.get(name)!;
  const { rise, fall } = ground.outputs.get(start.signal)!;
  const needs = both(...process.needs.map((need) => ground.at(ground.device(need.device), need.position))) ?? "true";
  const refused: Action = ground.meets(
    { kind: "start-refused", subject: name },
    { events: [{ kind: "process", process: name, what: "is refused" }] },
  );
  const busy = ground.meets({ kind: "start-while-running", subject: name });
  const begin: Action = { update: [`${running} := 1`], events: [{ kind: "process", process: name, what: "begins" }] };
  automaton.location("idle");
  automaton.instant("begin");
  if (start.style === "pulse") {
    automaton.instant("asked");
    automaton.edge("idle", "asked", { receive: rise });
    automaton.edge("asked", "begin", { ...begin, guard: needs });
    automaton.edge("asked", "idle", { ...refused, guard: notThat(needs) });
  } else {
    automaton.location("asked");
    automaton.edge("idle", "asked", { receive: rise });
    automaton.edge("asked", "begin", { ...begin, guard: needs, send: ground.urgent });
    automaton.edge("asked", "idle", { ...refused, receive: fall });
  }

  const { done } = process;
  automaton.chain("begin", "prepare_0", [
    ...(done?.style === "until start" ? [ground.setInput(done.signal, false)] : []),
    ...(process.running === undefined ? [] : [ground.setInput(process.running, true)]),
  ]);
  // Where it stands while it runs: a start signal then is lost.
  const standing: string[] = [];
  const wait = (place: string, invariant?: string): string => {
    standing.push(automaton.location(place, invariant));
    return place;
  };
  machineMoves(ground, automaton, calls, process.before, "prepare", "check", wait);
  automaton.instant("check");
  const range = timeOf(ground, process);
  const { invariant, least } = lasting(clock, range);
  wait("run", invariant);
  automaton.chain("check", "run", [...partChecks(ground, process), [{ update: [`${working} := 1`], reset: [clock] }]]);
  automaton.chain("run", "tidy_0", [
    [{ guard: `${clock} >= ${least}`, update: [`${working} := 0`] }],
    makes(ground, process),
  ]);
  machineMoves(ground, automaton, calls, process.after, "tidy", "complete", wait);
  automaton.instant("complete");
  const end: readonly Action[] = [
    { update: [`${running} := 0`], events: [{ kind: "process", process: name, what: "ends" }] },
  ];
  const off = process.running === undefined ? [] : [ground.setInput(process.running, false)];
  if (done?.style === "pulse") {
    const width = longest(done.width);
    automaton.location("tell", `${clock} <= ${width}`);
    const told = ground.setInput(done.signal, true).map((action) => ({ ...action, reset: [clock] }));
    automaton.chain("complete", "tell", [end, ...off, told]);
    automaton.chain("tell", "idle", [[{ guard: `${clock} >= ${width}` }], ground.setInput(done.signal, false)]);
    standing.push("tell");
  } else
    automaton.chain("complete", "idle", [
      end,
      ...off,
      ...(done === undefined ? [] : [ground.setInput(done.signal, true)]),
    ]);
  for (const place of standing)
    if (place !== "tell" || start.style === "pulse")
      automaton.edge(place, place, { ...busy, receive: rise, ...(busy.to === undefined ? {} : { to: busy.to }) });
  automaton.done("idle");
}

/** The machine moves its own devices one after the other. */
function machineMoves(
  ground: Ground,
  automaton: AutomatonWriter,
  calls: MachineCalls,
  list: Process["before"],
  prefix: string,
  then: string,
  wait: (place: string) => string,
): void {
  for (const [i, { device, position }] of list.entries()) {
    const from = automaton.instant(`${prefix}_${i}`);
    const state = ground.device(device);
    const next = i + 1 < list.length ? `${prefix}_${i + 1}` : then;
    const there = ground.at(state, position);
    const waiting = wait(`${prefix}_${i}_wait`);
    automaton.edge(from, next, { guard: there });
    automaton.edge(from, waiting, { guard: notThat(there), send: calls.get(machineCall(device, position))! });
    automaton.edge(waiting, next, { guard: there, send: ground.urgent });
  }
  if (list.length === 0) automaton.edge(automaton.instant(`${prefix}_0`), then);
}

function timeOf(ground: Ground, process: Process): { readonly min: number; readonly max: number } {
  const range = ground.cell.parts.get(ground.variant)?.processTimes.get(process.name) ?? process.time;
  return range ?? { min: 0, max: 0 };
}

function makes(ground: Ground, process: Process): readonly Action[] {
  if (process.holder === undefined || process.makes === undefined) return [];
  const { has, kept } = ground.spot(process.holder, []);
  const stage = ground.stage(process.makes);
  if (stage === 0) return [];
  const made = (variable: string): readonly (readonly [string, string[]])[] => [
    [`${variable} > 0`, [`${variable} := ${stage}`]],
    [`${variable} = 0`, []],
  ];
  if (kept === has) return made(has).map(([guard, update]) => ({ guard, update }));
  return made(has).flatMap(([guard, update]) =>
    made(kept).map(([also, count]) => ({ guard: both(guard, also)!, update: [...update, ...count] })),
  );
}

/** What a machine cannot know about the part and the arm when it begins to work. */
function partChecks(ground: Ground, process: Process): (readonly Action[])[] {
  const subject = process.name;
  const stages: (readonly Action[])[] = [];
  const test = (wrong: string, kind: Parameters<Ground["meets"]>[0]["kind"], other?: string) =>
    stages.push([
      { ...ground.meets({ kind, subject, ...(other === undefined ? {} : { other }) }), guard: wrong },
      { guard: notThat(wrong) },
    ]);
  const machine = ground.cell.machines.get(process.machine)!;
  for (const zone of new Set(machine.devices.flatMap((device) => device.sweeps)))
    test(`${ground.zones.get(zone)!} = 1`, "arm-inside-at-start", zone);
  if (process.holder === undefined) return stages;
  const spot = ground.spot(process.holder, []);
  test(`${spot.has} = 0`, "process-without-part", spot.holder.name);
  test(
    both(`${spot.has} > 0`, either([...ground.grippers.values()].map(({ shares }) => `${shares} = ${spot.number}`)))!,
    "process-while-held",
    spot.holder.name,
  );
  if (spot.clamp !== undefined)
    test(
      both(`${spot.has} > 0`, notThat(ground.at(ground.device(spot.clamp.name), spot.clamp.clamps!)))!,
      "process-unclamped",
      spot.clamp.name,
    );
  return stages;
}
