/** The bodies of a cell at the moment of a sighting, for a picture. */
import type { Arm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import { BOX, type Body, CYLINDER, POINT, SEGMENT } from "../../clearance/body.ts";
import { poseOnSlide, slidePath } from "../../clearance/swept/slide-path.ts";
import { compose, identityPose, type Pose } from "../../math/pose.ts";
import type { Element } from "./elements.ts";
import { inWorld } from "./report.ts";
import type { ClearanceScene, SceneBody } from "./scene.ts";
import { armFrames } from "./settled-pairs.ts";
import type { Sighting, Survey } from "./survey.ts";

/** Everything as it stands when two bodies come nearest; other devices that may be anywhere stand where they are sent. */
export function sceneOf(cell: Cell, arm: Arm, { builder }: Survey, sighting: Sighting): ClearanceScene {
  const { pair, share, q, moment, witness } = sighting;
  const frames = armFrames(arm)(q).slice();
  const own = builder.carried(moment.held);
  const devices = new Map(
    [...moment.devices].map(([name, at]) => {
      const seen = pair[1].device?.name === name ? pair[1].device.stretch : undefined;
      const there = at.target ?? at.stretches[0]!.to;
      return [name, { ...at, stretches: [seen ?? { from: there, to: there }] }] as const;
    }),
  );
  const all = [...own, ...builder.around(moment.resting, devices)];
  const indexOf = (element: Element) => all.findIndex(({ id }) => id === element.id);
  const bodies = all.map(
    (element): SceneBody => ({
      name: element.name,
      group: element.group,
      shape: shapeOf(element.body),
      worldFromBody: compose(cell.worldFromBase, baseFromBody(element, frames, share)),
    }),
  );
  return {
    bodies,
    pair: [indexOf(pair[0]), indexOf(pair[1])],
    witness: { a: inWorld(cell, witness, 1), b: inWorld(cell, witness, 4), distance: witness[0]! },
  };
}

function baseFromBody({ frame, frameFromBody, slide }: Element, frames: Float64Array, share: number): Pose {
  if (frame < 0 && slide === undefined) return frameFromBody;
  const owner = identityPose();
  if (slide !== undefined) poseOnSlide(slidePath(slide), share, owner, 0);
  else owner.set(frames.subarray(12 * frame, 12 * frame + 12));
  owner[12] = owner[13] = owner[14] = 0;
  owner[15] = 1;
  return compose(owner, frameFromBody);
}

/** What the body looks like. */
function shapeOf(body: Body): SceneBody["shape"] {
  const { kind, radius, hx, hy, hz, xs, ys, zs, mesh } = body;
  if (mesh !== undefined) return { kind: "triangles", vertices: mesh.vertices, indices: mesh.indices };
  switch (kind) {
    case POINT:
      return { kind: "sphere", radius };
    case SEGMENT:
      return { kind: "capsule", radius, length: 2 * hz };
    case BOX:
      return { kind: "box", size: [2 * hx, 2 * hy, 2 * hz] };
    case CYLINDER:
      return { kind: "cylinder", radius: hx, length: 2 * hz };
    default:
      return { kind: "convex", points: Array.from(xs, (x, i) => [x, ys[i]!, zs[i]!] as const) };
  }
}
