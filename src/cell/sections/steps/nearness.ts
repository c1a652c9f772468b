/** What a motion may come near to: its own least clearance, and what is touched in it on purpose. */
import { listOf } from "../../form/collections.ts";
import type { Kind } from "../../form/kind.ts";
import { nameOf } from "../../form/named.ts";
import { may } from "../../form/records.ts";
import { quantity } from "../../form/scalars.ts";

/** Names of shapes. */
export const shapeNames: Kind<readonly string[]> = listOf("shapes", nameOf("shape"), 1);

export const nearnessFields = {
  clearance: may(quantity("length", { atLeast: "0 mm" }), "least distance kept in it, that of the cell if left out"),
  "may touch": may(shapeNames, "shapes that tool, grippers and held parts touch in it on purpose"),
};
