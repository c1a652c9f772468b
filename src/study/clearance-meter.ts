/**
 * Least distance of the arm, its tool and what it holds from everything else over many joint positions of one layout.
 *
 * Compared: as `millhand clearance` does, with the devices where the run has them (at every position that they have or move
 * between during the motion) and with the parts in the grippers. Exact at each position looked at; nothing is said about
 * what lies between. Parts resting in trays are not compared.
 */
import { linkFrames } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { Cell } from "../cell/model.ts";
import { type CellBody, cellBodies, createStateClearance, flangeFromHeldPart } from "../check/index.ts";
import { type BodySet, type CarriedBody, createBodySet, type MeshLibrary, newDistance } from "../clearance/index.ts";
import { compose, identityPose, invert, multiply34, type Pose, translation } from "../math/pose.ts";
import type { Metres } from "../math/units.ts";
import type { Situation } from "./situation.ts";
import { type BaseShift, movedStand, shiftedBase } from "./vary-cell.ts";

export interface ClearanceMeter {
  /** Begins a layout: nothing has been looked at. @param layout the varied cell, of which the tool centre points are taken */
  begin(layout: Cell, shift: BaseShift): void;
  /**
   * Whether the base or its stand then stand in something that they do not touch where the cell stands now: their signed
   * distance, m, and the two bodies.
   */
  standing(): { readonly distance: number; readonly pair: readonly [string, string] } | undefined;
  /** Looks at one joint position. @returns whether anything came nearer than before */
  look(situation: number, q: Float64Array): boolean;
  /** Of everything: tool and held parts come near to what they serve in every layout. */
  readonly all: LeastDistance;
  /** Of the arm's own links from everything, which is what a layout changes most. */
  readonly links: LeastDistance;
}

export interface LeastDistance {
  /** Least signed distance met since `begin`, m; Infinity before the first look, or where nothing can be compared. */
  readonly distance: number;
  /** The two bodies that it is between. */
  readonly pair: readonly [string, string] | undefined;
}

/** Stand heights for which the bodies are kept. */
const MOST_HEIGHTS = 32;

interface PlacedPairs {
  readonly set: BodySet;
  readonly names: readonly string[];
}

/** Pairs of a link with anything, and of tool or held parts with what stands around. */
type PlacedSituation = readonly [links: PlacedPairs, tool: PlacedPairs];

/** Everything of a layout's height of the stand. */
interface PlacedHeight {
  readonly situations: readonly PlacedSituation[];
  /** Base and stand with what is fixed around them. */
  readonly stand: PlacedPairs;
}

class Least implements LeastDistance {
  distance = Number.POSITIVE_INFINITY;
  pair: readonly [string, string] | undefined = undefined;

  forget(): void {
    this.distance = Number.POSITIVE_INFINITY;
    this.pair = undefined;
  }

  /** Takes over the least distance of a placed set, if it is less. */
  look({ set, names }: PlacedPairs, frames: Float64Array, trial: Float64Array): boolean {
    if (names.length === 0) return false;
    set.place(frames);
    if (this.distance > 0 && this.distance < Number.POSITIVE_INFINITY && !set.collides(this.distance)) return false;
    const d = set.minimumDistance(trial);
    if (!(d < this.distance)) return false;
    this.distance = d;
    this.pair = [names[set.pairs[2 * set.pair]!]!, names[set.pairs[2 * set.pair + 1]!]!];
    return true;
  }
}

/**
 * @param cell as it stands now, with the choices of the layout made
 * @param stand scene shapes that go with the base
 */
export function createClearanceMeter(
  cell: Cell,
  arm: Arm,
  situations: readonly Situation[],
  stand: readonly string[],
  library?: MeshLibrary,
): ClearanceMeter {
  const { n } = arm;
  const grippers = [...cell.tool.grippers.keys()];
  const frameCount = n + 3 + Math.max(1, grippers.length);
  const STAND = n + 2;
  const excluded = excludedPairs(cell, library);
  const byHeight = new Map<number, PlacedHeight>();
  const bodiesNow = bodiesIn(cell, NOTHING, stand, library);
  const apart = standPairsApart(bodiesNow, worldFrames(cell, frameCount), frameCount);
  const flangeFromLast = cell.arm.lastFromFlange.slice(0, 12);

  const frames = new Float64Array(12 * frameCount);
  const linkPoses = new Float64Array(12 * (n + 1));
  const one = new Float64Array(12);
  const out = new Float64Array(12);
  let worldFromBase: Pose = identityPose();
  let placed: PlacedHeight | undefined;
  let held: readonly (readonly { readonly frame: number; readonly flangeFromPart: Pose }[])[] = [];
  const trial = newDistance();
  const links = new Least();
  const tool = new Least();

  const heldOf = (layout: Cell) =>
    situations.map((situation) =>
      [...situation.held].map(([gripper, part]) => ({
        frame: n + 3 + grippers.indexOf(gripper),
        flangeFromPart: flangeFromHeldPart(layout, gripper, part),
      })),
    );

  const write = (from: Float64Array, frame: number) => {
    for (let k = 0; k < 12; k++) frames[12 * frame + k] = from[k]!;
  };

  return {
    begin(layout, shift) {
      links.forget();
      tool.forget();
      worldFromBase = layout.worldFromBase;
      let known = byHeight.get(shift.height);
      if (known === undefined) {
        if (byHeight.size >= MOST_HEIGHTS) byHeight.delete(byHeight.keys().next().value!);
        const raised = withStand(cell, stand, shift.height);
        known = {
          situations: situations.map((situation) =>
            placedSituation(raised, situation, stand, excluded, frameCount, library),
          ),
          stand: placedPairs(bodiesIn(raised, NOTHING, stand, library), apart, frameCount),
        };
        byHeight.set(shift.height, known);
      }
      placed = known;
      held = heldOf(layout);
      write(worldFromBase, 0);
      const level = shiftedBase(cell.worldFromBase, { ...shift, height: 0 });
      write(compose(level, invert(cell.worldFromBase)), STAND);
    },
    standing() {
      const { set, names } = placed!.stand;
      if (names.length === 0) return undefined;
      set.place(frames);
      if (!set.collides()) return undefined;
      const distance = set.minimumDistance(trial);
      return { distance, pair: [names[set.pairs[2 * set.pair]!]!, names[set.pairs[2 * set.pair + 1]!]!] };
    },
    look(situation, q) {
      const [ofLinks, ofTool] = placed!.situations[situation]!;
      linkFrames(arm, q, linkPoses);
      for (let i = 1; i <= n; i++) {
        for (let k = 0; k < 12; k++) one[k] = linkPoses[12 * i + k]!;
        multiply34(worldFromBase, one, out);
        write(out, i);
      }
      const flange = multiply34(out, flangeFromLast, one);
      write(flange, n + 1);
      const parts = held[situation]!;
      for (let p = 0; p < parts.length; p++) {
        const { frame, flangeFromPart } = parts[p]!;
        write(multiply34(flange, flangeFromPart, out), frame);
      }
      const nearer = links.look(ofLinks, frames, trial);
      return tool.look(ofTool, frames, trial) || nearer;
    },
    get all() {
      return tool.distance < links.distance ? tool : links;
    },
    links,
  };
}

/** No device but at its start, nothing held. */
const NOTHING: Situation = { positions: new Map(), held: new Map(), partMayTouch: [], toolMayTouch: [] };

/** The frames that do not depend on joints, as the cell stands now. */
function worldFrames(cell: Cell, frameCount: number): Float64Array {
  const frames = new Float64Array(12 * frameCount);
  for (let f = 0; f < frameCount; f++)
    frames.set((f === 0 ? cell.worldFromBase : identityPose()).subarray(0, 12), 12 * f);
  return frames;
}

/** Pairs of base or stand with something fixed that are apart now: what overlaps now, such as stand and floor, is meant. */
function standPairsApart(
  bodies: readonly PlacedBody[],
  frames: Float64Array,
  frameCount: number,
): readonly (readonly [number, number])[] {
  const pairs: [number, number][] = [];
  for (const [i, a] of bodies.entries())
    for (const [j, b] of bodies.entries())
      if ((a.link === 0 || isStand(a)) && b.link === undefined && !isStand(b)) pairs.push([i, j]);
  const set = createBodySet(bodies, frameCount, pairs);
  set.place(frames);
  const out = newDistance();
  return pairs.filter((_, k) => set.pairDistance(k, out) > 0);
}

/** The cell with its stand as high as the base is then, where it stands now. */
function withStand(cell: Cell, stand: readonly string[], height: number): Cell {
  if (height === 0) return cell;
  const lift = translation(0 as Metres, 0 as Metres, height as Metres);
  const shapes = cell.scene.shapes.map((shape) =>
    stand.includes(shape.name) ? movedStand(shape, lift, height) : shape,
  );
  return { ...cell, scene: { ...cell.scene, shapes } };
}

const pairKey = (a: string, b: string) => (a < b ? `${a}|${b}` : `${b}|${a}`);

/** Pairs of the arm's own bodies that tell nothing about a state. */
function excludedPairs(cell: Cell, library: MeshLibrary | undefined): ReadonlySet<string> {
  const outcome = createStateClearance(cell, library);
  if (!outcome.ok) return new Set();
  const { alwaysOverlap, neverMeet } = outcome.clearance;
  return new Set([...alwaysOverlap, ...neverMeet].map(([a, b]) => pairKey(a, b)));
}

/** On the stand: fixed against the base, but carried with it. */
const isStand = ({ link, frame }: PlacedBody) => link === undefined && frame >= 0;

type PlacedBody = CarriedBody &
  Pick<CellBody, "name" | "link"> & { readonly group: "link" | "tool" | "held" | "fixed" };

function placedSituation(
  cell: Cell,
  situation: Situation,
  stand: readonly string[],
  excluded: ReadonlySet<string>,
  frameCount: number,
  library: MeshLibrary | undefined,
): PlacedSituation {
  const bodies = bodiesIn(cell, situation, stand, library);
  const ofLinks: [number, number][] = [];
  const ofTool: [number, number][] = [];
  for (const [i, a] of bodies.entries())
    for (const [j, b] of bodies.entries()) {
      if (a.link === undefined || (b.link !== undefined && j <= i)) continue;
      if (b.link === undefined ? a.link === 0 : Math.abs(a.link - b.link) < 2) continue;
      if (b.link !== undefined && excluded.has(pairKey(a.name, b.name))) continue;
      if (b.link === undefined && mayTouch(a, b.name, situation)) continue;
      (a.group === "link" || b.group === "link" ? ofLinks : ofTool).push([i, j]);
    }
  return [placedPairs(bodies, ofLinks, frameCount), placedPairs(bodies, ofTool, frameCount)];
}

/** Only the bodies that are in a pair: the others need not be placed. */
function placedPairs(
  bodies: readonly PlacedBody[],
  pairs: readonly (readonly [number, number])[],
  frameCount: number,
): PlacedPairs {
  const used = [...new Set(pairs.flat())].sort((a, b) => a - b);
  const number = new Map(used.map((body, i) => [body, i]));
  const kept = used.map((body) => bodies[body]!);
  const set = createBodySet(
    kept,
    frameCount,
    pairs.map(([a, b]) => [number.get(a)!, number.get(b)!]),
  );
  return { set, names: kept.map(({ name }) => name) };
}

const isNamed = (body: string, name: string) => body === name || body.startsWith(`${name}.`);

function mayTouch({ group }: PlacedBody, other: string, { partMayTouch, toolMayTouch }: Situation): boolean {
  if (group === "held" && partMayTouch.some((name) => isNamed(other, name))) return true;
  return (group === "held" || group === "tool") && toolMayTouch.some((name) => isNamed(other, name));
}

/** The bodies of a situation in world axes: frame 0 carries the base, 1 to n the links, then flange, stand, held parts. */
function bodiesIn(
  cell: Cell,
  situation: Situation,
  stand: readonly string[],
  library: MeshLibrary | undefined,
): PlacedBody[] {
  const n = cell.arm.joints.length;
  const world = { ...cell, worldFromBase: identityPose() };
  const bodies: PlacedBody[] = [];
  const fixed = new Map<string, PlacedBody>();
  const tools = ["tool", ...cell.tool.grippers.keys()];
  const most = Math.max(1, ...[...situation.positions.values()].map((positions) => positions.length));
  // Devices that move have a body at each end of their way: one pass over the cell for each.
  for (let k = 0; k < most; k++) {
    for (const body of cellBodies(atPositions(world, situation, k), library).bodies) {
      if (body.link === undefined) {
        const frame = stand.some((name) => body.name === name) ? n + 2 : -1;
        fixed.set(`${body.name}|${body.frameFromBody.join()}|${fixed.size * Number(k === 0)}`, {
          ...body,
          frame,
          group: "fixed",
        });
      } else if (k === 0) {
        const tool = body.frame === n && tools.some((name) => isNamed(body.name, name));
        bodies.push({ ...body, frame: body.link === 0 ? 0 : body.frame + 1, group: tool ? "tool" : "link" });
      }
    }
  }
  const grippers = [...cell.tool.grippers.keys()];
  for (const [gripper, { part: name }] of situation.held) {
    const part = cell.parts.get(name);
    if (part?.shape === undefined) continue;
    const shown: Cell = {
      ...world,
      machines: new Map(),
      tool: { grippers: new Map(), shapes: [] },
      scene: {
        ...cell.scene,
        shapes: [{ name: `${name} in ${gripper}`, ownerFromShape: part.partFromShape, shape: part.shape }],
      },
    };
    for (const body of cellBodies(shown, library).bodies)
      if (body.link === undefined)
        bodies.push({ ...body, link: n, frame: n + 3 + grippers.indexOf(gripper), group: "held" });
  }
  return [...bodies, ...fixed.values()];
}

/** The cell with every device of the situation at its k-th position (its last where it has fewer). */
function atPositions(cell: Cell, { positions }: Situation, k: number): Cell {
  const machines = new Map(
    [...cell.machines].map(([name, machine]) => [
      name,
      {
        ...machine,
        devices: machine.devices.map((device) => {
          const met = positions.get(device.name) ?? [];
          return met.length === 0 ? device : { ...device, start: met[Math.min(k, met.length - 1)]! };
        }),
      },
    ]),
  );
  return { ...cell, machines };
}
