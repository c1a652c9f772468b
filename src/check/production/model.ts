/** The days of a cell as the production floor sees them: its routine as one line, with all that stops it. */
import type { Cell, TimeRange } from "../../cell/model.ts";
import { always, type DaysModel, type Duration } from "../../production/index.ts";
import type { VariantRuns } from "../cycle-report.ts";

/** A thing that the file does not state, and what nobody can tell without it. */
export interface Unstated {
  /** Path in the cell file: "production.shift". */
  readonly what: string;
  readonly unknowable: string;
}

export interface LineModel {
  /** Undefined without shifts. */
  readonly days: DaysModel | undefined;
  readonly period: { readonly fastest: number; readonly nominal: number; readonly slowest: number };
  /** Parts of one run of the routine, where trays limit it. */
  readonly filling: number | undefined;
  readonly assumptions: readonly string[];
  readonly unstated: readonly Unstated[];
}

export interface LineOptions {
  /** Whether the cell goes on without people until it needs one. */
  readonly unattended: boolean;
  /** In place of the parts that the trays of the file hold. */
  readonly filling?: number;
}

const rangeOf = ({ min, max }: TimeRange): Duration => ({ kind: "uniform", min, max });

/** The model of a timed variant. */
export function lineModel(cell: Cell, runs: VariantRuns, options: LineOptions): LineModel {
  const { nominal } = runs;
  const production = cell.production;
  const sorted = [runs.fastest.period, nominal.period, runs.slowest.period].sort((a, b) => a - b);
  const period = { fastest: sorted[0]!, nominal: sorted[1]!, slowest: sorted[2]! };
  const ofTray = (holder: string) => cell.holders.get(holder)?.kind === "tray";
  const trays = nominal.completions.some((c) => ofTray(c.holder)) || nominal.jaws.some((jaw) => ofTray(jaw.holder));
  const counted = trays && nominal.partsFinished > 0 ? nominal.partsFinished : undefined;
  const filling = options.filling ?? counted;
  const startUp = counted === undefined ? 0 : Math.max(0, nominal.duration - counted * nominal.period);

  const assumptions = [
    "a stop of one machine stops the whole routine, as its steps come in a fixed order",
    "stops come at random, equally likely at any running time; times lie evenly in their ranges",
  ];
  const unstated: Unstated[] = [];
  const lack = (what: string, unknowable: string) => unstated.push({ what: `production.${what}`, unknowable });
  if (options.filling !== undefined)
    assumptions.push(
      `${options.filling} parts per filling, as asked for; whether the arm reaches them was not checked`,
    );
  if (production?.shift === undefined) lack("shift", "parts per day and week, effectiveness, hours without people");
  if (production?.stops === undefined) lack("stops", "availability and the parts lost to stops; none are counted");
  if (production?.refill === undefined && filling !== undefined)
    lack("refill", "the time lost while the trays are changed; none is counted");
  if (production?.people === undefined)
    lack("people", "how long the cell waits for somebody; one person is taken to be there at once");
  if (production?.scrap === undefined) lack("scrap", "quality and cost per good part; every part is taken as good");
  const person = (needs: "person" | "nobody" | undefined) => needs !== "nobody";
  const shift = production?.shift;
  const days: DaysModel | undefined = shift && {
    stations: [
      {
        name: "cell",
        machining: always(0),
        service: {
          kind: "triangular",
          min: sorted[0]! as never,
          likely: sorted[1]! as never,
          max: sorted[2]! as never,
        },
      },
    ],
    order: "in turn",
    stops: [...(production.stops ?? [])].map(([name, { every, time, needs }]) => ({
      name,
      station: undefined,
      every,
      time: rangeOf(time),
      person: person(needs),
    })),
    toolChanges: [...(production.toolChanges ?? [])].map(([name, { parts, time, needs }]) => ({
      name,
      station: 0,
      parts,
      time: rangeOf(time),
      person: person(needs),
    })),
    refill:
      filling === undefined
        ? undefined
        : {
            parts: filling,
            time: production.refill ? rangeOf(production.refill.time) : always(0),
            startUp: startUp as never,
          },
    shift,
    people: {
      count: production.people?.attending ?? 1,
      response: production.people ? rangeOf(production.people.response) : always(0),
    },
    unattended: options.unattended,
    scrap: production.scrap ?? 0,
  };
  return { days, period, filling, assumptions, unstated };
}
