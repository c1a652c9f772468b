/** Conditions of `when`, on what the controller sees and what the routine keeps count of. */
import type { Condition } from "../cell/steps.ts";
import type { PartToken } from "./types.ts";
import type { World } from "./world.ts";

export function conditionHolds(
  world: World,
  condition: Condition,
  pass: { first: boolean; last: boolean } | undefined,
  places: ReadonlyMap<string, number>,
): boolean {
  switch (condition.kind) {
    case "signal":
      return world.board.seen(condition.signal) === condition.is;
    case "variant":
      return world.variant === condition.part;
    case "holder": {
      const place = places.get(condition.holder) ?? 0;
      return has(world.stock.at({ holder: condition.holder, place }), condition.has);
    }
    case "gripper":
      return has(world.stock.inGripper(condition.gripper), condition.has);
    case "pass":
      return pass?.[condition.which] ?? false;
    case "all":
      return condition.of.every((c) => conditionHolds(world, c, pass, places));
    case "any":
      return condition.of.some((c) => conditionHolds(world, c, pass, places));
    case "not":
      return !conditionHolds(world, condition.of, pass, places);
  }
}

function has(token: PartToken | undefined, wanted: "part" | "nothing" | { readonly stage: string }): boolean {
  if (wanted === "nothing") return token === undefined;
  return token !== undefined && (wanted === "part" || token.stage === wanted.stage);
}
