/** Cost per part and worth of an investment from what is known of a cell and of its money. */
import { ContractError } from "../../math/contract-error.ts";
import { annuityFactor, discountedPayback, levelNpv, payback } from "./cash-flow.ts";
import { type Estimate, isCertain } from "./estimate.ts";
import { levelInternalRate, type RateOfReturn } from "./irr.ts";

/**
 * Names of the inputs. Amounts are in one currency; what is not given is undefined, never 0.
 *
 * `investment` is the sum of its items; `residual` what the cell is sold for at the end. Per year: `saving` when it is stated,
 * else it follows from `partValue` (what one good part earns, or what it costs made otherwise) less `material` (of every part
 * made) and the running costs: `tooling` per part made, `hourRate` per planned hour (energy, floor, upkeep by the hour),
 * `operatorRate` times `operatorHours` per working day, `upkeep` per year.
 */
export const INPUTS = [
  "investment",
  "residual",
  "years",
  "interest",
  "saving",
  "partValue",
  "material",
  "tooling",
  "hourRate",
  "operatorRate",
  "operatorHours",
  "upkeep",
  "made",
  "goodShare",
  "plannedHours",
  "workingDays",
] as const;

export type InputName = (typeof INPUTS)[number];

/** One value of each input that is known. `made`, `plannedHours` and `workingDays` are per year. */
export type Inputs = Readonly<Partial<Record<InputName, number>>>;
export type EstimatedInputs = Readonly<Partial<Record<InputName, Estimate>>>;

/** A figure, or the inputs that it lacks. */
export type Figure<T> =
  | { readonly known: true; readonly value: T }
  | { readonly known: false; readonly missing: readonly InputName[] };

export interface Business {
  readonly runningPerYear: Figure<number>;
  readonly savingPerYear: Figure<number>;
  /** Annuity of the investment, running costs and material, over good parts; without `material` it is not in it. */
  readonly costPerPart: Figure<number>;
  readonly npv: Figure<number>;
  /** Years; undefined: never. */
  readonly payback: Figure<number | undefined>;
  readonly discountedPayback: Figure<number | undefined>;
  readonly irr: Figure<RateOfReturn>;
}

/** All figures. @throws ContractError for values that are not finite or outside their range */
export function businessOf(inputs: Inputs): Business {
  const f = figuresOf(inputs);
  return {
    runningPerYear: f.runningPerYear,
    savingPerYear: f.savingPerYear,
    costPerPart: f.costPerPart(),
    npv: f.npv(),
    payback: f.payback(),
    discountedPayback: f.discountedPayback(),
    irr: f.irr(),
  };
}

/** One figure alone, for many trials. @throws ContractError as `businessOf` */
export function outcomeOf(inputs: Inputs, outcome: "npv" | "costPerPart"): Figure<number> {
  return figuresOf(inputs)[outcome]();
}

function figuresOf(inputs: Inputs) {
  checkInputs(inputs);
  const get = (name: InputName) => inputs[name]!;
  const lacking = (names: readonly InputName[]) => names.filter((name) => inputs[name] === undefined);
  const then = <T>(first: Figure<number>, names: readonly InputName[], compute: (value: number) => T): Figure<T> => {
    const missing = [...new Set([...(first.known ? [] : first.missing), ...lacking(names)])];
    return missing.length > 0 || !first.known
      ? { known: false, missing }
      : { known: true, value: compute(first.value) };
  };
  const running = runningOf(inputs);
  const material = () => (inputs.material === undefined ? 0 : inputs.material * get("made"));
  const saving: Figure<number> =
    inputs.saving !== undefined
      ? { known: true, value: inputs.saving }
      : then(
          running,
          ["partValue", "made", "goodShare"],
          (costs) => get("partValue") * get("made") * get("goodShare") - material() - costs,
        );
  const worth = ["investment", "years", "interest"] as const;
  const residual = inputs.residual ?? 0;
  const level = (value: number) => ({ investment: get("investment"), saving: value, years: get("years"), residual });
  return {
    runningPerYear: running,
    savingPerYear: saving,
    costPerPart: () =>
      then(running, [...worth, "made", "goodShare"], (costs) => {
        const good = get("made") * get("goodShare");
        const r = get("interest");
        const sold = residual * Math.exp(-get("years") * Math.log1p(r));
        const perYear = (get("investment") - sold) / annuityFactor(get("years"), r);
        return good > 0 ? (perYear + costs + material()) / good : Number.POSITIVE_INFINITY;
      }),
    npv: () => then(saving, worth, (value) => levelNpv(level(value), get("interest"))),
    payback: () => then(saving, ["investment"], (value) => payback(get("investment"), value)),
    discountedPayback: () =>
      then(saving, ["investment", "interest"], (value) => discountedPayback(get("investment"), value, get("interest"))),
    irr: () => then(saving, ["investment", "years"], (value) => levelInternalRate(level(value))),
  };
}

/** Running costs per year: only items that are stated count; each of them needs what it is multiplied with. */
function runningOf(inputs: Inputs): Figure<number> {
  const { tooling, hourRate, operatorRate, operatorHours, upkeep = 0, made, plannedHours, workingDays } = inputs;
  const missing: InputName[] = [];
  const times = (factors: Readonly<Partial<Record<InputName, number | undefined>>>): number => {
    let product = 1;
    for (const [name, value] of Object.entries(factors))
      if (value === undefined) missing.push(name as InputName);
      else product *= value;
    return product;
  };
  let sum = upkeep;
  if (tooling !== undefined) sum += times({ tooling, made });
  if (hourRate !== undefined) sum += times({ hourRate, plannedHours });
  if (operatorRate !== undefined || operatorHours !== undefined)
    sum += times({ operatorRate, operatorHours, workingDays });
  return missing.length > 0 ? { known: false, missing: [...new Set(missing)] } : { known: true, value: sum };
}

function checkInputs(inputs: Inputs): void {
  for (const name of INPUTS) {
    const value = inputs[name];
    if (value === undefined) continue;
    const signed = name === "saving" || name === "partValue";
    const fits = Number.isFinite(value) && (signed || value >= 0) && (name !== "years" || value > 0);
    if (!fits || (name === "goodShare" && value > 1))
      throw new ContractError(`businessOf: ${name} is out of its range: ${value}`);
  }
}

/** The likely value of each input. */
export function likelyInputs(inputs: EstimatedInputs): Inputs {
  const out: Partial<Record<InputName, number>> = {};
  for (const name of INPUTS) {
    const e = inputs[name];
    if (e !== undefined) out[name] = e.likely;
  }
  return out;
}

/** Inputs that are given as a range. */
export const uncertainInputs = (inputs: EstimatedInputs): InputName[] =>
  INPUTS.filter((name) => inputs[name] !== undefined && !isCertain(inputs[name]));
