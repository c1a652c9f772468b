/** The supposed fault as an automaton: it happens once, at any moment. Slow devices and stops are part of device and arm. */
import type { Ground } from "./ground.ts";
import { type Action, both } from "./network-writer.ts";

export function addFault(ground: Ground): void {
  const { fault, faulty } = ground;
  if (fault === undefined || fault.kind === "slow device" || fault.kind === "stopped" || fault.kind === "power lost")
    return;
  const automaton = ground.writer.automaton("fault", fault.kind);
  automaton.location("sound");
  automaton.location("failed");
  const happens: Action = { update: [`${faulty} := 1`], events: [{ kind: "fault" }] };
  const also = (action: Action): Action => ({
    ...happens,
    ...action,
    update: [...happens.update!, ...(action.update ?? [])],
  });
  switch (fault.kind) {
    case "stuck input": {
      const { seen } = ground.inputs.get(fault.signal)!;
      automaton.edge("sound", "failed", also({ update: [`${seen} := ${fault.level ? 1 : 0}`] }));
      break;
    }
    case "broken wire": {
      const output = ground.outputs.get(fault.signal)!;
      automaton.edge("sound", "failed", also({ guard: `${output.level} = 0` }));
      automaton.edge(
        "sound",
        "failed",
        also({ guard: `${output.level} = 1`, send: output.fall, update: [`${output.level} := 0`] }),
      );
      break;
    }
    case "part missing":
      for (const spot of ground.spots) {
        if (spot.holder.name !== fault.holder) continue;
        const free = [...ground.grippers.values()].map(({ shares }) => `${shares} != ${spot.number}`);
        automaton.edge(
          "sound",
          "failed",
          also({ guard: both(`${spot.has} > 0`, ...free)!, update: [`${spot.has} := 0`] }),
        );
      }
      break;
    case "part slipped": {
      const { has, shares, device, gripper } = ground.grippers.get(fault.gripper)!;
      const slips = also({
        guard: both(`${has} > 0`, ground.at(device, "closed"))!,
        update: [`${has} := 0`, `${shares} := 0`],
      });
      const present = gripper.partPresent;
      automaton.chain("sound", "failed", [
        [slips],
        ...(present === undefined ? [] : [ground.setInput(present, false)]),
      ]);
      break;
    }
    case "air lost":
      automaton.edge("sound", "failed", happens);
  }
  automaton.done("sound");
}
