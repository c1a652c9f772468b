/** One wire: a signal with its point and what is at either end. What every subject of the floor looks at. */
import type { Cell, IoPort, PointRatings, Signal, Supply } from "../cell/model.ts";
import type { Assignment, PlacedPoint } from "./assign.ts";
import { type SignalEnd, signalEnds } from "./ends.ts";
import { type PointKind, pointKindOf, SHORT_KINDS } from "./points.ts";

export interface Wire {
  readonly signal: Signal;
  readonly kind: PointKind;
  readonly end: SignalEnd;
  /** Undefined: no point. */
  readonly place: PlacedPoint | undefined;
  readonly port: IoPort | undefined;
  /** Of the port; empty where nothing is stated. */
  readonly ratings: PointRatings;
  readonly supply: Supply | undefined;
}

/** Every signal as a wire, in the order of the file. */
export function wiresOf(cell: Cell, assignment: Assignment): Wire[] {
  const ends = signalEnds(cell);
  return [...cell.signals.values()].map((signal) => {
    const place = assignment.points.get(signal.name);
    const port = place && cell.controller.ports.get(place.port);
    const ratings = port?.ratings ?? {};
    return {
      signal,
      kind: pointKindOf(signal),
      end: ends.get(signal.name)!,
      place,
      port,
      ratings,
      supply: ratings.supply === undefined ? undefined : cell.controller.supplies?.get(ratings.supply),
    };
  });
}

/** "controller DO 3" */
export const placeText = ({ kind, place }: Wire): string =>
  place === undefined ? "no point" : `${place.port} ${SHORT_KINDS[kind]} ${place.point}`;
