/**
 * Days of a cell in simulation, event by event: stations served by one arm, stops, tool changes, trays refilled by people,
 * shifts. Seeded; the same seed gives the same figures on every machine.
 *
 * Stops come after exponential running times; what they interrupt goes on where it was. While the whole cell stops, nothing
 * runs on. Work of people takes its time whatever the cell does.
 */
import { ContractError } from "../../math/contract-error.ts";
import { Stream } from "../random.ts";
import { Calendar } from "./calendar.ts";
import { checkModel, type DaysModel, draw } from "./model.ts";
import { People } from "./people.ts";

export interface DaysOptions {
  /** Days simulated, > 0, from the beginning of a week, with full trays. */
  readonly days: number;
  readonly seed: number;
}

/** What happened. Times in s, over the planned time only. */
export interface DaysResult {
  /** Planned busy time: attended hours, or all when the cell runs unattended. */
  readonly planned: number;
  /** Planned time in which the cell did not stand, a station that stands counting for its share of the stations. */
  readonly producing: number;
  /** Time lost in the whole cell by cause, in the order of the stops; station stops and tool changes count by share. */
  readonly stopped: readonly number[];
  /** The same by tool change. */
  readonly changed: readonly number[];
  /** The arm stood because trays were to be refilled, start-up included. */
  readonly refilling: number;
  readonly refills: number;
  readonly made: number;
  readonly good: number;
  /** Parts finished while nobody was there. */
  readonly madeUnattended: number;
  /** Time in which the cell produced while nobody was there. */
  readonly producingUnattended: number;
  readonly unattended: number;
  readonly calls: number;
  readonly peopleBusy: number;
  /** Arm at work, and each station running, share of the planned time. */
  readonly armBusy: number;
  readonly running: readonly number[];
  readonly events: number;
}

const RUNNING = 0;
const WAITING = 1;
const SERVED = 2;
const HELD = 3;

/** @throws ContractError for a model or options that are impossible */
export function simulateDays(model: DaysModel, { days, seed }: DaysOptions): DaysResult {
  checkModel(model);
  if (!(days > 0) || days > 36_600) throw new ContractError(`simulateDays: days must lie in (0, 36600], got ${days}`);
  return new Days(model, seed).run(days * 86_400);
}

class Days {
  readonly #model: DaysModel;
  readonly #n: number;
  readonly #calendar: Calendar;
  readonly #people: People;
  readonly #phase: Uint8Array;
  /** Moment of the next event of each station; infinite while it waits. */
  readonly #at: Float64Array;
  /** While held or broken: machining still to do, then. */
  readonly #rest: Float64Array;
  /** What holds a station: index into `#lost`. */
  readonly #cause: Int32Array;
  readonly #runs: Float64Array;
  readonly #queue: Int32Array;
  #queued = 0;
  #head = 0;
  #turn = 0;
  #armAt = -1;
  #blockedUntil = -1;
  /** The whole cell stands until then, and its stops do not come nearer. */
  #standsUntil = 0;
  readonly #machining: Stream[];
  readonly #service: Stream[];
  readonly #stopGaps: Stream[];
  readonly #stopTimes: Stream[];
  readonly #changeTimes: Stream[];
  readonly #refillTimes: Stream;
  readonly #scrap: Stream;
  /** Moment (whole cell) or running time left (station) until each stop. */
  readonly #next: Float64Array;
  readonly #stationStops: readonly (readonly number[])[];
  readonly #stationChanges: readonly (readonly number[])[];
  readonly #cellStops: readonly number[];
  readonly #sinceChange: Float64Array;
  readonly #lost: Float64Array;
  #made = 0;
  #bad = 0;
  #madeUnattended = 0;
  #refills = 0;
  #refilling = 0;
  #planned = 0;
  #producing = 0;
  #unattended = 0;
  #producingUnattended = 0;
  #armBusy = 0;
  #events = 0;

  constructor(model: DaysModel, seed: number) {
    const n = model.stations.length;
    const stream = (kind: number, i = 0) => new Stream(seed, kind * 65_536 + i);
    this.#model = model;
    this.#n = n;
    this.#calendar = new Calendar(model.shift);
    this.#people = new People(model.people.count, model.people.response, this.#calendar, stream(1));
    this.#phase = new Uint8Array(n);
    this.#at = new Float64Array(n);
    this.#rest = new Float64Array(n);
    this.#cause = new Int32Array(n);
    this.#runs = new Float64Array(n);
    this.#queue = new Int32Array(n);
    this.#machining = model.stations.map((_, i) => stream(2, i));
    this.#service = model.stations.map((_, i) => stream(3, i));
    this.#stopGaps = model.stops.map((_, i) => stream(4, i));
    this.#stopTimes = model.stops.map((_, i) => stream(5, i));
    this.#changeTimes = model.toolChanges.map((_, i) => stream(6, i));
    this.#refillTimes = stream(7);
    this.#scrap = stream(8);
    this.#next = Float64Array.from(model.stops, (s, i) => this.#stopGaps[i]!.exponential(s.every));
    const own = <T extends { readonly station: number | undefined }>(list: readonly T[], station: number | undefined) =>
      list.flatMap((entry, i) => (entry.station === station ? [i] : []));
    this.#cellStops = own(model.stops, undefined);
    this.#stationStops = model.stations.map((_, i) => own(model.stops, i));
    this.#stationChanges = model.stations.map((_, i) => own(model.toolChanges, i));
    this.#sinceChange = new Float64Array(model.toolChanges.length);
    this.#lost = new Float64Array(model.stops.length + model.toolChanges.length);
  }

  run(end: number): DaysResult {
    const at = this.#at;
    const n = this.#n;
    const freezes = !this.#model.unattended;
    let now = 0;
    let attended = this.#calendar.attended(0);
    let change = this.#calendar.nextChange(0);
    for (let i = 0; i < n; i++) this.#start(i, 0, draw(this.#model.stations[i]!.machining, this.#machining[i]!));
    for (;;) {
      let next = Math.min(change, end);
      let what = change < end ? -2 : -3;
      for (let i = 0; i < n; i++)
        if (at[i]! < next) {
          next = at[i]!;
          what = i;
        }
      if (this.#blockedUntil >= 0 && this.#blockedUntil < next) {
        next = this.#blockedUntil;
        what = -1;
      }
      for (const s of this.#cellStops)
        if (this.#next[s]! < next) {
          next = this.#next[s]!;
          what = -4 - s;
        }
      this.#events++;
      this.#pass(next - now, attended);
      now = next;
      if (what === -3) break;
      if (what >= 0) this.#station(what, now, attended);
      else if (what === -1) {
        this.#blockedUntil = -1;
        this.#serve(now);
      } else if (what === -2) {
        if (freezes) {
          // People went home: everything stands until they are back.
          const back = Math.min(end, this.#calendar.nextAttended(now));
          this.#freeze(now, back);
          now = back;
        }
        attended = this.#calendar.attended(now);
        change = this.#calendar.nextChange(now);
      } else {
        const s = -4 - what;
        const stop = this.#model.stops[s]!;
        const time = draw(stop.time, this.#stopTimes[s]!);
        const until = stop.person ? this.#people.done(now, time) : now + time;
        const over = Math.min(end, until);
        this.#next[s] = now + this.#stopGaps[s]!.exponential(stop.every);
        const within = this.#plannedBetween(now, over, freezes);
        this.#lost[s]! += within;
        this.#planned += within;
        if (!freezes) this.#unattended += within - this.#attendedBetween(now, over);
        this.#freeze(now, over);
        now = over;
        // The shift may have ended meanwhile: then the cell stands until people are back.
        if (freezes && !this.#calendar.attended(now) && now < end) {
          const back = Math.min(end, this.#calendar.nextAttended(now));
          this.#freeze(now, back);
          now = back;
        }
        attended = this.#calendar.attended(now);
        change = this.#calendar.nextChange(now);
      }
    }
    const stops = this.#model.stops.length;
    return {
      planned: this.#planned,
      producing: this.#producing,
      stopped: [...this.#lost.subarray(0, stops)],
      changed: [...this.#lost.subarray(stops)],
      refilling: this.#refilling,
      refills: this.#refills,
      made: this.#made,
      good: this.#made - this.#bad,
      madeUnattended: this.#madeUnattended,
      producingUnattended: this.#producingUnattended,
      unattended: this.#unattended,
      calls: this.#people.calls,
      peopleBusy: this.#people.busy,
      armBusy: this.#planned > 0 ? this.#armBusy / this.#planned : 0,
      running: [...this.#runs].map((t) => (this.#planned > 0 ? t / this.#planned : 0)),
      events: this.#events,
    };
  }

  /** Accounts for time in which no event happened. */
  #pass(dt: number, attended: boolean): void {
    if (dt <= 0) return;
    const n = this.#n;
    this.#planned += dt;
    if (!attended) this.#unattended += dt;
    let producing = dt;
    if (this.#armAt >= 0) this.#armBusy += dt;
    if (this.#blockedUntil >= 0) {
      this.#refilling += dt;
      producing = 0;
      for (let i = 0; i < n; i++) if (this.#phase[i] === RUNNING) this.#runs[i]! += dt;
    } else
      for (let i = 0; i < n; i++) {
        if (this.#phase[i] === RUNNING) this.#runs[i]! += dt;
        else if (this.#phase[i] === HELD) {
          this.#lost[this.#cause[i]!]! += dt / n;
          producing -= dt / n;
        }
      }
    this.#producing += producing;
    if (!attended) this.#producingUnattended += producing;
  }

  /** Everything stands from `now` to `until`, but for the work of people. */
  #freeze(now: number, until: number): void {
    const dt = until - now;
    for (let i = 0; i < this.#n; i++) {
      if (this.#phase[i] === HELD) this.#at[i] = Math.max(this.#at[i]!, until);
      else this.#at[i]! += dt;
    }
    if (this.#blockedUntil >= 0) this.#blockedUntil = Math.max(this.#blockedUntil, until);
    this.#stand(now, until);
  }

  /** Running time until the stops of the cell does not pass from `now` to `until`. */
  #stand(now: number, until: number): void {
    const more = until - Math.max(now, this.#standsUntil);
    if (more <= 0) return;
    for (const s of this.#cellStops) this.#next[s]! += more;
    this.#standsUntil = until;
  }

  /** A station begins `rest` seconds of machining, which a stop of its own may interrupt. */
  #start(i: number, now: number, rest: number): void {
    let first = -1;
    let run = rest;
    for (const s of this.#stationStops[i]!)
      if (this.#next[s]! < run) {
        run = this.#next[s]!;
        first = s;
      }
    for (const s of this.#stationStops[i]!) this.#next[s]! -= run;
    this.#phase[i] = RUNNING;
    this.#at[i] = now + run;
    this.#rest[i] = rest - run;
    this.#cause[i] = first;
  }

  #hold(i: number, cause: number, now: number, until: number, rest: number): void {
    this.#phase[i] = HELD;
    this.#cause[i] = cause;
    this.#at[i] = until;
    this.#rest[i] = rest;
    if (this.#n === 1) this.#stand(now, until);
  }

  #station(i: number, now: number, attended: boolean): void {
    const model = this.#model;
    const phase = this.#phase[i];
    if (phase === RUNNING) {
      const s = this.#cause[i]!;
      if (s >= 0) {
        const stop = model.stops[s]!;
        this.#next[s] = this.#stopGaps[s]!.exponential(stop.every);
        const time = draw(stop.time, this.#stopTimes[s]!);
        this.#hold(i, s, now, stop.person ? this.#people.done(now, time) : now + time, this.#rest[i]!);
        return;
      }
      this.#phase[i] = WAITING;
      this.#at[i] = Number.POSITIVE_INFINITY;
      this.#queue[(this.#head + this.#queued++) % this.#n] = i;
      this.#serve(now);
    } else if (phase === HELD) this.#start(i, now, this.#rest[i]!);
    else {
      this.#armAt = -1;
      this.#made++;
      if (!attended) this.#madeUnattended++;
      if (model.scrap > 0 && this.#scrap.uniform() < model.scrap) this.#bad++;
      const machining = draw(model.stations[i]!.machining, this.#machining[i]!);
      let until = now;
      let cause = -1;
      for (const c of this.#stationChanges[i]!)
        if (++this.#sinceChange[c]! >= model.toolChanges[c]!.parts) {
          this.#sinceChange[c] = 0;
          const { time, person } = model.toolChanges[c]!;
          const takes = draw(time, this.#changeTimes[c]!);
          until = person ? this.#people.done(until, takes) : until + takes;
          cause = model.stops.length + c;
        }
      if (cause < 0) this.#start(i, now, machining);
      else this.#hold(i, cause, now, until, machining);
      const refill = model.refill;
      if (refill && this.#made % refill.parts === 0) {
        this.#refills++;
        this.#blockedUntil = this.#people.done(now, draw(refill.time, this.#refillTimes)) + refill.startUp;
        this.#stand(now, this.#blockedUntil);
      }
      this.#serve(now);
    }
  }

  /** The arm takes the next station that waits, if it is free and one does. */
  #serve(now: number): void {
    if (this.#armAt >= 0 || this.#blockedUntil >= 0 || this.#queued === 0) return;
    let i: number;
    if (this.#model.order === "in turn") {
      i = this.#turn;
      if (this.#phase[i] !== WAITING) return;
      this.#turn = (i + 1) % this.#n;
      this.#queued--;
    } else {
      i = this.#queue[this.#head]!;
      this.#head = (this.#head + 1) % this.#n;
      this.#queued--;
    }
    this.#armAt = i;
    this.#phase[i] = SERVED;
    this.#at[i] = now + draw(this.#model.stations[i]!.service, this.#service[i]!);
  }

  #plannedBetween(from: number, to: number, attendedOnly: boolean): number {
    return attendedOnly ? this.#attendedBetween(from, to) : to - from;
  }

  #attendedBetween(from: number, to: number): number {
    let sum = 0;
    for (let t = from; t < to; ) {
      const next = Math.min(to, this.#calendar.nextChange(t));
      if (this.#calendar.attended(t)) sum += next - t;
      t = next;
    }
    return sum;
  }
}
