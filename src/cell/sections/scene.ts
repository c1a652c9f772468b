/** `scene`: frames, places for parts, shapes, fence, operator places and zones. */
import { identityPose, type Pose, poseFromAbc } from "../../math/pose.ts";
import { listOf, mapOf } from "../form/collections.ts";
import { given, type Kind, refined } from "../form/kind.ts";
import { quantities } from "../form/lists.ts";
import { nameOf } from "../form/named.ts";
import { posedIn } from "../form/poses.ts";
import { may, need, record } from "../form/records.ts";
import { count, quantity, word, yesNo } from "../form/scalars.ts";
import { placedShape, type WrittenShape } from "../form/shapes.ts";
import type { PlacedShape } from "../shapes.ts";
import { valueAt, type Written } from "../text/written.ts";
import { holderContents } from "./machines.ts";
import type { StartContent } from "./parts.ts";

/** Something placed in a frame; world when none is named. */
interface InFrame {
  readonly in?: string;
  readonly pose: Pose;
}

interface ReadFrame extends InFrame {
  readonly written: Written;
}

export interface ReadHolder extends InFrame {
  /** Places in serving order, in the holder's own frame. */
  readonly places: readonly Pose[];
  readonly columns?: number;
  readonly start: StartContent | undefined;
  readonly accepts: readonly string[];
  readonly restsOn?: readonly string[];
  readonly written: Written;
}

export interface ReadScene {
  readonly frames: ReadonlyMap<string, ReadFrame>;
  readonly trays: ReadonlyMap<string, ReadHolder>;
  readonly nests: ReadonlyMap<string, ReadHolder>;
  readonly shapes: ReadonlyMap<string, WrittenShape>;
  readonly fence: { readonly in?: string; readonly panels: readonly PlacedShape[] } | undefined;
  readonly operatorPlaces: ReadonlyMap<string, InFrame>;
  readonly zones: ReadonlyMap<string, ReadonlyMap<string, WrittenShape>>;
}

const frameKind: Kind<ReadFrame> = posedIn("a frame", {}, { note: true });

export const ORDERS = ["rows", "columns", "rows back and forth", "columns back and forth"] as const;
export type ServingOrder = (typeof ORDERS)[number];
const pitchKind = quantities("length", [2], "the distances along x and y");

const trayKind: Kind<ReadHolder> = refined(
  posedIn(
    "a tray",
    {
      rows: need(count(1, 1000), "number of rows, along y"),
      columns: need(count(1, 1000), "number of columns, along x"),
      pitch: need(pitchKind, "distance of places along x and along y, [60, 60 mm]"),
      order: may(word(ORDERS), "serving order, rows if left out"),
      ...holderContents,
    },
    { note: true },
  ),
  (value, at, reading): ReadHolder | undefined => {
    const { rows, columns } = value;
    const [x, y] = value.pitch as readonly [number, number];
    if (rows * columns > 10_000)
      return reading.log.report(
        "out-of-range",
        valueAt(at, "rows")!,
        `${rows * columns} places`,
        "at most 10000 places",
        "Correct rows or columns.",
      );
    if ((columns > 1 && x === 0) || (rows > 1 && y === 0))
      return reading.log.wrong(
        "out-of-range",
        valueAt(at, "pitch")!,
        "a pitch that is not zero where there is more than one place",
        "Correct the pitch.",
      );
    return given({
      in: value.in,
      pose: value.pose,
      places: servingOrder(rows, columns, value.order ?? "rows").map(([row, column]) =>
        poseFromAbc([column * x, row * y, 0], 0, 0, 0),
      ),
      columns,
      start: value.start === "nothing" ? undefined : value.start,
      accepts: value.accepts ?? [],
      restsOn: value["rests on"],
      written: at,
    }) as ReadHolder;
  },
);

/** Row and column of each place in serving order. */
export function servingOrder(
  rows: number,
  columns: number,
  order: ServingOrder,
): readonly (readonly [row: number, column: number])[] {
  const byColumns = order.startsWith("columns");
  const weave = order.endsWith("back and forth");
  const [outer, inner] = byColumns ? [columns, rows] : [rows, columns];
  const out: [number, number][] = [];
  for (let i = 0; i < outer; i++)
    for (let k = 0; k < inner; k++) {
      const j = weave && i % 2 === 1 ? inner - 1 - k : k;
      out.push(byColumns ? [j, i] : [i, j]);
    }
  return out;
}

const nestKind: Kind<ReadHolder> = refined(
  posedIn("a nest", holderContents, { note: true }),
  (value, at) =>
    given({
      in: value.in,
      pose: value.pose,
      places: [identityPose()],
      start: value.start === "nothing" ? undefined : value.start,
      accepts: value.accepts ?? [],
      restsOn: value["rests on"],
      written: at,
    }) as ReadHolder,
);

const height = quantity("length", { above: "0 mm" });
const fenceKind = refined(
  record(
    "the fence",
    {
      in: may(nameOf("frame"), "frame whose floor it stands on, world if left out"),
      height: need(height, "height of the panels"),
      posts: need(listOf("posts", quantities("length", [2], "a post [x, y]"), 2, 500), "posts [x, y] in order"),
      thickness: may(height, "thickness of the panels, 40 mm if left out"),
      closed: may(yesNo, "whether the last post is joined to the first"),
    },
    { note: true },
  ),
  (value, at, reading) => {
    const posts = valueAt(at, "posts");
    const ends = value.posts
      .map((post, i) => [post, value.posts[(i + 1) % value.posts.length]!, i] as const)
      .slice(0, value.closed && value.posts.length > 2 ? undefined : -1);
    const panels: PlacedShape[] = [];
    for (const [a, b, i] of ends) {
      const [dx, dy] = [b[0]! - a[0]!, b[1]! - a[1]!];
      const length = Math.hypot(dx, dy);
      if (!(length > 0)) {
        const spot = posts?.kind === "list" ? posts.items[(i + 1) % value.posts.length]! : at;
        return reading.log.wrong("out-of-range", spot, "posts in different places", "Remove one of the two posts.");
      }
      panels.push({
        name: `fence-${i + 1}`,
        ownerFromShape: poseFromAbc(
          [(a[0]! + b[0]!) / 2, (a[1]! + b[1]!) / 2, value.height / 2],
          0,
          0,
          Math.atan2(dy, dx),
        ),
        shape: { kind: "box", size: [length, value.thickness ?? 0.04, value.height] },
      });
    }
    return given({ in: value.in, panels });
  },
);

const zoneKind = refined(
  record(
    "a zone",
    { shapes: need(mapOf("shapes by name", placedShape, { least: 1 }), "shapes by name") },
    { note: true },
  ),
  (value) => value.shapes,
);

const form = record(
  "the scene",
  {
    frames: may(
      mapOf("frames by name", frameKind, { reserved: ["world", "target"] }),
      "frames by name, each in its parent",
    ),
    trays: may(mapOf("trays by name", trayKind), "trays by name"),
    nests: may(mapOf("nests by name", nestKind), "single places by name"),
    shapes: may(mapOf("shapes by name", placedShape), "fixed shapes by name"),
    fence: may(fenceKind, "the fence"),
    "operator places": may(
      mapOf("operator places by name", posedIn("an operator place", {}, { note: true })),
      "places where a person stands, by name",
    ),
    zones: may(mapOf("zones by name", zoneKind), "zones by name"),
  },
  { note: true },
);

export const sceneKind: Kind<ReadScene> = refined(
  form,
  (value): ReadScene => ({
    frames: value.frames ?? new Map(),
    trays: value.trays ?? new Map(),
    nests: value.nests ?? new Map(),
    shapes: value.shapes ?? new Map(),
    fence: value.fence,
    operatorPlaces: value["operator places"] ?? new Map(),
    zones: value.zones ?? new Map(),
  }),
);

export const emptyScene: ReadScene = {
  frames: new Map(),
  trays: new Map(),
  nests: new Map(),
  shapes: new Map(),
  fence: undefined,
  operatorPlaces: new Map(),
  zones: new Map(),
};
