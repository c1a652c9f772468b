/** `controller`: points and scan time. */

import { mapOf } from "../form/collections.ts";
import { type Kind, refined } from "../form/kind.ts";
import { DEFAULT_PORTS } from "../form/names.ts";
import { may, record } from "../form/records.ts";
import { count, quantity } from "../form/scalars.ts";
import type { Controller, IoPort } from "../model.ts";

const points = count(0, 4096);
const port = record(
  "a port",
  {
    "digital inputs": may(points, "number of digital inputs"),
    "digital outputs": may(points, "number of digital outputs"),
    "analogue inputs": may(points, "number of analogue inputs"),
    "analogue outputs": may(points, "number of analogue outputs"),
  },
  { note: true },
);

const form = record(
  "the controller",
  {
    scan: may(quantity("time", { above: "0 s" }), "time within which a changed input is seen, 10 ms if left out"),
    ports: may(
      mapOf("ports by name", port),
      "points, by port; 16, 16, 2, 2 at the controller and 2, 2, 2, 0 at the flange if left out",
    ),
  },
  { note: true },
);

const DEFAULT_SCAN = 0.01;

export const controllerKind: Kind<Controller> = refined(form, (value): Controller => {
  const ports = new Map<string, IoPort>();
  if (value.ports)
    for (const [name, written] of value.ports)
      ports.set(name, {
        name,
        digitalInputs: written["digital inputs"] ?? 0,
        digitalOutputs: written["digital outputs"] ?? 0,
        analogueInputs: written["analogue inputs"] ?? 0,
        analogueOutputs: written["analogue outputs"] ?? 0,
      });
  return { ports: value.ports ? ports : defaultController.ports, scan: value.scan ?? DEFAULT_SCAN };
});

/** The controller of a cell that does not describe it. */
export const defaultController: Controller = {
  ports: new Map(Object.entries(DEFAULT_PORTS).map(([name, points]) => [name, { name, ...points }])),
  scan: DEFAULT_SCAN,
};
