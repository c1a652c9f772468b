/** Routes from a start to one of several goals through a scene. */
import { nearer, newDistance, placedDistance } from "../clearance/distance.ts";
import { ContractError } from "../math/contract-error.ts";
import { proveNoWay } from "./ball-proof.ts";
import { proveBand } from "./band-proof.ts";
import { Connect } from "./connect.ts";
import { EdgeCheck } from "./edge-check.ts";
import { jointOutside, searchBox } from "./joint-range.ts";
import { Metric } from "./metric.ts";
import { Polish } from "./polish.ts";
import { randomFrom } from "./random.ts";
import { type StandingPair, type StandingScene, standScene } from "./standing-scene.ts";
import type { RouteOutcome, RouteRequest, Router, RouteScene } from "./types.ts";

const STATES = 2_000_000;
const POLISH = 6_500;
const ROOM = 0.001;
/** Drawn states per turn of the first search, between looks at `cancelled`. */
const TURN = 2_000;
/** States looked at without a route after which a proof is tried that there is none, and what the proof may cost. */
const DOUBT = 20_000;
const PROOF = 400_000;

/**
 * A router for many queries in one scene.
 * @throws ContractError if the scene is not what RouteScene promises
 */
export function createRouter(scene: RouteScene): Router {
  const { weights, arm } = scene;
  if (weights !== undefined)
    for (let i = 0; i < arm.n; i++)
      if (!(weights[i]! > 0 && weights[i]! < Number.POSITIVE_INFINITY))
        throw new ContractError(`createRouter: scene.weights[${i}] must be finite and > 0, got ${weights[i]}`);
  return new SceneRouter(scene);
}

/** One route; for several in the same scene make a router. @throws ContractError as createRouter and Router.find */
export function findRoute(scene: RouteScene, request: RouteRequest): RouteOutcome {
  return createRouter(scene).find(request);
}

class SceneRouter implements Router {
  private readonly scene: RouteScene;
  private readonly standing: StandingScene;
  private readonly check: EdgeCheck;
  private readonly metric: Metric;
  private readonly connect: Connect;
  private readonly polish: Polish;
  /** A pair that overlaps whatever the arm does. */
  private readonly stuck: StandingPair | undefined;
  /** Least distance of the pairs that no joint moves against each other, m. */
  private readonly rigidLeast: number;

  constructor(scene: RouteScene) {
    this.scene = scene;
    this.standing = standScene(scene);
    this.check = new EdgeCheck(this.standing);
    this.metric = new Metric(scene.arm.n, scene.weights);
    this.connect = new Connect(this.check, this.metric);
    this.polish = new Polish(this.check, this.metric, this.connect);
    this.stuck = this.stuckPair();
    this.rigidLeast = this.leastOfRigid();
  }

  find(request: RouteRequest): RouteOutcome {
    const { check, scene } = this;
    const { start, goals, seed, states: budget = STATES, polish = POLISH, room = ROOM, cancelled } = request;
    this.require(request);
    check.states = 0;
    const refused = this.refuseStart(start);
    if (refused !== undefined) return refused;
    const open: { readonly q: Float64Array; readonly index: number }[] = [];
    let first: RouteOutcome | undefined;
    for (const [index, goal] of goals.entries()) {
      const why = this.refuseGoal(goal, index);
      if (why === undefined) open.push({ q: Float64Array.from(goal), index });
      else first ??= why;
    }
    if (first !== undefined && open.length === 0) return first;
    const ends = [start, ...open.map(({ q }) => q)];
    // Nearest goal first: a straight edge to it is the best there is.
    const straight = [...open].sort((a, b) => this.metric.distance(start, a.q) - this.metric.distance(start, b.q));
    const tight = Math.min(...ends.map((q) => check.stateDistance(q, scene.margin + 4 * room) - scene.margin));
    let slack = Math.max(0, tight / 4);
    const random = randomFrom(seed);
    const box = searchBox(scene.arm, ends);
    let best: Float64Array[] | undefined;
    if (check.edgeClear(start, straight[0]!.q, slack)) best = [Float64Array.from(start), straight[0]!.q];
    const targets = open.map(({ q }) => q);
    const direct = best !== undefined;
    let tried = false;
    while (best === undefined) {
      if (cancelled?.()) return this.failed("cancelled", `cancelled after ${check.states} states looked at`);
      if (!tried && check.states >= Math.min(DOUBT, budget / 4)) {
        tried = true;
        const none = this.proveNone(start, targets, Math.min(PROOF, budget / 4), cancelled);
        if (none !== undefined) return none;
      }
      if (check.states >= budget)
        return this.failed("not found", `no route found in ${check.states} states looked at; one may exist`);
      best = this.connect.find(start, targets, box, Number.POSITIVE_INFINITY, TURN, budget, slack, random);
      if (best === undefined) slack /= 4;
    }
    if (!direct)
      best = this.polish.run(best, {
        start,
        goals: targets,
        box,
        slack,
        random,
        last: Math.min(budget, check.states + polish),
        ...(cancelled && { cancelled }),
      });
    const end = best.at(-1)!;
    const goal = open.find(({ q }) => this.metric.distance(q, end) === 0)!.index;
    return {
      ok: true,
      path: best,
      goal,
      length: this.metric.length(best),
      clearance: Math.min(check.leastAlong(best), this.rigidLeast),
      states: check.states,
    };
  }

  /** "no way" when that can be proved at a cost of `most`. */
  private proveNone(
    start: Float64Array,
    goals: readonly Float64Array[],
    most: number,
    cancelled: (() => boolean) | undefined,
  ): RouteOutcome | undefined {
    const { standing, check, scene } = this;
    const work = { count: 0, most, ...(cancelled && { cancelled }) };
    const band = proveBand(standing, check.state, start, goals, work);
    const ball = band === undefined ? proveNoWay(standing, check.state, start, goals, work) : undefined;
    check.states += work.count;
    const asked = `${(1000 * scene.margin).toFixed(2)} mm`;
    if (band !== undefined) {
      const { arm } = scene;
      const unit = arm.prismatic[band.joint] === 1 ? "m" : "rad";
      return this.failed(
        "no way",
        `${arm.jointNames[band.joint]} would have to pass ${band.value.toFixed(4)} ${unit}, where two bodies overlap or are nearer than ${asked} whatever the other joints do`,
        standing.origin[band.pair]!,
      );
    }
    if (ball === undefined) return undefined;
    const [held, closing] = ball.pair;
    const pair = scene.pairs.find(([a, b]) => (a === held && b === closing) || (a === closing && b === held))!;
    return {
      ok: false,
      reason: "no way",
      message: `a ball of radius ${(1000 * ball.radius).toFixed(1)} mm inside a carried body cannot get from its place at the start to its place at a goal, ${asked} from the standing bodies: ${ball.startClosedIn ? "the start is closed in" : "the goal is closed off"} (cells down to ${(2000 * ball.finest).toFixed(1)} mm)`,
      pair,
      states: check.states,
    };
  }

  private require({ start, goals, seed, states = STATES, polish = POLISH, room = ROOM }: RouteRequest): void {
    const { n } = this.scene.arm;
    if (start.length !== n) throw new ContractError(`find: start must have ${n} joint values, got ${start.length}`);
    if (goals.length === 0) throw new ContractError("find: goals must have at least one goal, got none");
    for (const [i, goal] of goals.entries())
      if (goal.length !== n)
        throw new ContractError(`find: goals[${i}] must have ${n} joint values, got ${goal.length}`);
    if (!Number.isFinite(seed)) throw new ContractError(`find: seed must be finite, got ${seed}`);
    if (!(states > 0)) throw new ContractError(`find: states must be above 0, got ${states}`);
    if (!(room >= 0 && room < Number.POSITIVE_INFINITY))
      throw new ContractError(`find: room must be finite and at least 0 m, got ${room}`);
    if (!(polish >= 0)) throw new ContractError(`find: polish must be at least 0, got ${polish}`);
  }

  private refuseStart(start: Float64Array): RouteOutcome | undefined {
    const { stuck, check } = this;
    if (stuck !== undefined)
      return this.failed(
        "start not clear",
        "two bodies that no joint moves against each other are nearer than the margin",
        stuck.origin,
      );
    const joint = jointOutside(this.scene.arm, start);
    if (joint >= 0) return this.failed("start outside limits", this.outside("start", start, joint));
    if (check.stateClear(start)) return undefined;
    return this.failed("start not clear", this.tooNear("start"), this.standing.origin[check.pair]!);
  }

  private refuseGoal(goal: Float64Array, index: number): RouteOutcome | undefined {
    const { check } = this;
    const joint = jointOutside(this.scene.arm, goal);
    if (joint >= 0) return this.failed("goal outside limits", this.outside(`goal ${index + 1}`, goal, joint));
    if (check.stateClear(goal)) return undefined;
    return this.failed("goal not clear", this.tooNear(`goal ${index + 1}`), this.standing.origin[check.pair]!);
  }

  private outside(what: string, q: Float64Array, joint: number): string {
    const { arm } = this.scene;
    const unit = arm.prismatic[joint] === 1 ? "m" : "rad";
    return `${what}: ${arm.jointNames[joint]} is ${q[joint]} ${unit}; allowed ${arm.min[joint]} to ${arm.max[joint]} ${unit}`;
  }

  private tooNear(what: string): string {
    const { check } = this;
    return `${what}: two bodies are ${(1000 * check.pairDistance(check.pair)).toFixed(2)} mm apart; ${(1000 * this.scene.margin).toFixed(2)} mm are asked for`;
  }

  private failed(
    reason: Extract<RouteOutcome, { ok: false }>["reason"],
    message: string,
    origin?: number,
  ): RouteOutcome {
    const pair = origin === undefined ? {} : { pair: this.scene.pairs[origin]! };
    return { ok: false, reason, message, ...pair, states: this.check.states };
  }

  private stuckPair(): StandingPair | undefined {
    const { check, standing } = this;
    const { rigid, bodies, margin } = standing;
    check.state.moveTo(new Float64Array(standing.arm.n));
    check.state.placeAll();
    const { poses } = check.state;
    return rigid.find(({ a, b }) => nearer(bodies[a]!, poses, 12 * a, bodies[b]!, poses, 12 * b, margin));
  }

  private leastOfRigid(): number {
    const { rigid, bodies } = this.standing;
    const { poses } = this.check.state;
    const out = newDistance();
    let least = Number.POSITIVE_INFINITY;
    for (const { a, b } of rigid) {
      placedDistance(bodies[a]!, poses, 12 * a, bodies[b]!, poses, 12 * b, least, out);
      least = Math.min(least, out[0]!);
    }
    return least;
  }
}
