/** The tree of links and joints, and the chain through it that is the arm. */
import { didYouMean } from "../cell/text/did-you-mean.ts";
import type { UrdfJoint } from "./urdf-joints.ts";
import type { UrdfLink } from "./urdf-links.ts";
import type { UrdfReader } from "./urdf-reader.ts";

export interface UrdfTree {
  readonly links: ReadonlyMap<string, UrdfLink>;
  /** Joints by parent link, in the order of the file. */
  readonly below: ReadonlyMap<string, readonly UrdfJoint[]>;
  /** The joint that a link hangs on. */
  readonly above: ReadonlyMap<string, UrdfJoint>;
  readonly root: string;
}

/** Links with the same name, joints to links that are not there, several parents, several roots, loops: all noted. */
export function buildTree(
  reader: UrdfReader,
  links: readonly UrdfLink[],
  joints: readonly UrdfJoint[],
): UrdfTree | undefined {
  const byName = new Map<string, UrdfLink>();
  for (const link of links) {
    if (byName.has(link.name)) noteRepeated(reader, "link", link);
    else byName.set(link.name, link);
  }
  const below = new Map<string, UrdfJoint[]>();
  const above = new Map<string, UrdfJoint>();
  const jointNames = new Set<string>();
  let whole = true;
  for (const joint of joints) {
    if (jointNames.has(joint.name)) noteRepeated(reader, "joint", joint);
    jointNames.add(joint.name);
    const path = `joint[${joint.name}]`;
    for (const end of ["parent", "child"] as const) {
      if (byName.has(joint[end])) continue;
      whole = false;
      const guess = guessLink(joint[end], byName) || "Add the link, or mend the name.";
      reader.note("unknown-link", `${path}.${end}`, joint.start, `link "${joint[end]}"`, "a link of this file", guess);
    }
    const other = above.get(joint.child);
    if (other !== undefined) {
      whole = false;
      reader.note(
        "several-parents",
        path,
        joint.start,
        `"${joint.child}" moved by "${other.name}" and "${joint.name}"`,
        "one joint above each link",
        "Take one of the joints out.",
      );
      continue;
    }
    above.set(joint.child, joint);
    const siblings = below.get(joint.parent);
    if (siblings === undefined) below.set(joint.parent, [joint]);
    else siblings.push(joint);
  }
  if (!whole) return undefined;

  const roots = [...byName.values()].filter((link) => !above.has(link.name));
  for (const extra of roots.slice(1))
    reader.note(
      "several-roots",
      `link[${extra.name}]`,
      extra.start,
      `"${roots[0]!.name}" and "${extra.name}" without a joint above them`,
      "one root link",
      "Join the parts, or take the loose link out.",
    );
  const reached = new Set<string>();
  for (const root of roots) for (const name of walk(root.name, below)) reached.add(name);
  for (const link of byName.values()) {
    if (reached.has(link.name)) continue;
    const loop = loopThrough(link.name, above);
    for (const name of loop) for (const inside of walk(name, below)) reached.add(inside);
    reader.note(
      "loop",
      `link[${loop[0]!}]`,
      byName.get(loop[0]!)!.start,
      shorten(loop),
      "no link above itself",
      "URDF describes trees only: take one joint of the loop out.",
    );
  }
  const [root] = roots;
  return root !== undefined && reader.clean ? { links: byName, below, above, root: root.name } : undefined;
}

export interface UrdfChain {
  readonly base: string;
  readonly tip: string;
  /** From base to tip, at least one. */
  readonly joints: readonly UrdfJoint[];
}

/** The joints from `base` (default: the root) to `tip` (default: the leaf behind the most moving joints, if only one is). */
export function chooseChain(
  reader: UrdfReader,
  tree: UrdfTree,
  start: number,
  options: { readonly base?: string | undefined; readonly tip?: string | undefined },
): UrdfChain | undefined {
  let known = true;
  for (const end of ["base", "tip"] as const) {
    const name = options[end];
    if (name === undefined || tree.links.has(name)) continue;
    known = false;
    const guess = guessLink(name, tree.links) || `Its links: ${shorten([...tree.links.keys()])}.`;
    reader.note(`unknown-${end}`, end, start, `"${name}"`, "a link of the URDF file", guess);
  }
  if (!known) return undefined;
  const base = options.base ?? tree.root;
  const tip = options.tip ?? onlyLongest(reader, tree, base, start);
  if (tip === undefined) return undefined;
  const joints: UrdfJoint[] = [];
  for (let at = tip; at !== base; ) {
    const joint = tree.above.get(at);
    if (joint === undefined)
      return reader.note(
        "no-chain",
        "tip",
        start,
        `"${tip}" not below "${base}"`,
        "a tip that hangs on the base",
        "Choose another base or tip.",
      );
    joints.push(joint);
    at = joint.parent;
  }
  return { base, tip, joints: joints.reverse() };
}

function onlyLongest(reader: UrdfReader, tree: UrdfTree, base: string, start: number): string | undefined {
  interface Reach {
    readonly name: string;
    readonly moving: number;
    readonly depth: number;
    readonly lastMoving: string | undefined;
  }
  const leaves: Reach[] = [];
  const open: Reach[] = [{ name: base, moving: 0, depth: 0, lastMoving: undefined }];
  for (let at = open.pop(); at !== undefined; at = open.pop()) {
    const joints = tree.below.get(at.name) ?? [];
    if (joints.length === 0) leaves.push(at);
    for (const joint of joints) {
      const moves = joint.kind !== "fixed";
      open.push({
        name: joint.child,
        moving: at.moving + (moves ? 1 : 0),
        depth: at.depth + 1,
        lastMoving: moves ? joint.name : at.lastMoving,
      });
    }
  }
  const most = leaves.reduce((top, leaf) => Math.max(top, leaf.moving), 0);
  const longest = leaves.filter((leaf) => leaf.moving === most);
  // Ends of one and the same last link differ only in fixed frames: the outermost is meant, if there is only one.
  const sameLink = longest.every((leaf) => leaf.lastMoving === longest[0]!.lastMoving);
  const outermost = longest.reduce((top, leaf) => Math.max(top, leaf.depth), 0);
  const candidates = sameLink ? longest.filter((leaf) => leaf.depth === outermost) : longest;
  if (candidates.length === 1) return candidates[0]!.name;
  const names = candidates.map((leaf) => leaf.name).sort((a, b) => tree.links.get(a)!.start - tree.links.get(b)!.start);
  return reader.note(
    "several-tips",
    "tip",
    start,
    `a branching tree with the ends ${shorten(names)}`,
    "one chain",
    `Name the tip link: ${shorten(names)}.`,
  );
}

/** Links at and below a link. */
function* walk(from: string, below: ReadonlyMap<string, readonly UrdfJoint[]>): Generator<string> {
  const seen = new Set<string>();
  const open = [from];
  for (let name = open.pop(); name !== undefined; name = open.pop()) {
    if (seen.has(name)) continue;
    seen.add(name);
    yield name;
    for (const joint of below.get(name) ?? []) open.push(joint.child);
  }
}

/** The loop that is met by going up from a link that has no root above it. */
function loopThrough(from: string, above: ReadonlyMap<string, UrdfJoint>): string[] {
  const order = new Map<string, number>();
  const path: string[] = [];
  let at = from;
  while (!order.has(at)) {
    order.set(at, path.length);
    path.push(at);
    at = above.get(at)!.parent;
  }
  return path.slice(order.get(at));
}

function noteRepeated(
  reader: UrdfReader,
  what: "link" | "joint",
  { name, start }: { name: string; start: number },
): void {
  reader.note(
    "repeated-name",
    `${what}[${name}]`,
    start,
    `a second ${what} "${name}"`,
    `one ${what} of that name`,
    "Rename one of them.",
  );
}

/** No guesses among so many names that guessing would take long. */
function guessLink(name: string, links: ReadonlyMap<string, UrdfLink>): string {
  return links.size > 500 ? "" : didYouMean(name, links.keys());
}

function shorten(names: readonly string[]): string {
  const shown = names.slice(0, 8).map((name) => (name.length > 40 ? `${name.slice(0, 40)}…` : name));
  return shown.join(", ") + (names.length > 8 ? ` and ${names.length - 8} more` : "");
}
