/**
 * Contacts that the routine means: jaws on the part that they take or leave, a part on what it rests on, and what a step says it
 * may touch. They hold only in the motion that arrives at the place where the gripper closes or opens and in the one that
 * leaves it, and only for that gripper and that part.
 */
import type { Cell } from "../../cell/index.ts";
import type { GoStep, PressStep } from "../../cell/steps.ts";
import type { CycleRun, JawRecord } from "../../cycle/index.ts";
import type { Element } from "./elements.ts";

/** Bodies that are meant to touch may overlap so much: modelled poses do not agree to the last, m. */
export const MEANT_OVERLAP = 0.001;

export type Contact =
  /** Jaws on a part at rest. */
  | { readonly kind: "jaws"; readonly gripper: string; readonly holder: string; readonly place: number }
  /** The part in a gripper on shapes. */
  | { readonly kind: "seat"; readonly gripper: string; readonly shapes: ReadonlySet<string> }
  /** Tool, grippers and held parts on shapes. */
  | { readonly kind: "touch"; readonly shapes: ReadonlySet<string> };

/** Equal for equal contacts. */
export const contactKey = (contact: Contact): string =>
  contact.kind === "jaws"
    ? `jaws ${contact.gripper} ${contact.holder} ${contact.place}`
    : `${contact.kind} ${contact.kind === "seat" ? contact.gripper : ""} ${[...contact.shapes].join()}`;

/** Whether a body that the arm carries may touch another. */
export function isMeant(contacts: readonly Contact[], carried: Element, other: Element): boolean {
  return contacts.some((contact) => {
    switch (contact.kind) {
      case "jaws":
        return (
          carried.group === "tool" &&
          carried.gripper === contact.gripper &&
          other.rests?.holder === contact.holder &&
          other.rests.place === contact.place
        );
      case "seat":
        return carried.group === "held part" && carried.gripper === contact.gripper && isNamed(contact.shapes, other);
      case "touch":
        return (carried.group === "held part" || carried.group === "tool") && isNamed(contact.shapes, other);
    }
    return false;
  });
}

/** By its own name, or by that of the device it belongs to. */
function isNamed(names: ReadonlySet<string>, { name, group }: Element): boolean {
  if (names.has(name)) return true;
  return group === "device" && names.has(name.slice(0, name.lastIndexOf(".")));
}

/** What a run's steps mean to touch. */
export class MeantContacts<F> {
  readonly #cell: Cell;
  readonly #run: CycleRun<F>;
  /** Closings and openings by the move that came before. */
  readonly #jaws = new Map<number, JawRecord[]>();

  constructor(cell: Cell, run: CycleRun<F>) {
    this.#cell = cell;
    this.#run = run;
    for (const record of run.jaws) {
      const known = this.#jaws.get(record.after);
      if (known === undefined) this.#jaws.set(record.after, [record]);
      else known.push(record);
    }
  }

  /** Of one step of one move. */
  of(move: number, index: number): Contact[] {
    const { steps } = this.#run.moves[move]!;
    const step = steps[index]!;
    const contacts: Contact[] = [];
    if (index === steps.length - 1) for (const record of this.#arrivals(move)) contacts.push(this.#arriving(record));
    if (index === 0) for (const record of this.#jaws.get(move - 1) ?? []) contacts.push(this.#leaving(record));
    const touched = (step as GoStep | PressStep).mayTouch;
    if (touched !== undefined) contacts.push({ kind: "touch", shapes: new Set(touched) });
    return contacts;
  }

  /** While the arm stands after a move: before and after the gripper closes or opens. */
  standing(after: number): Contact[] {
    return (this.#jaws.get(after) ?? []).flatMap((record) => [this.#arriving(record), this.#leaving(record)]);
  }

  /** What is done at the place where the move ends; a push that follows belongs to the arrival. */
  #arrivals(move: number): readonly JawRecord[] {
    const own = this.#jaws.get(move);
    if (own !== undefined) return own;
    return this.#run.moves[move + 1]?.kind === "press" ? (this.#jaws.get(move + 1) ?? []) : [];
  }

  #arriving({ step, holder, place }: JawRecord): Contact {
    return contactAt(this.#cell, step.gripper, holder, place, step.kind === "free");
  }

  #leaving(record: JawRecord): Contact {
    return contactOnLeaving(this.#cell, record);
  }
}

/** What may touch in the motion that leaves a place where a gripper was closed or opened. */
export const contactOnLeaving = (cell: Cell, { step, holder, place }: JawRecord): Contact =>
  contactAt(cell, step.gripper, holder, place, step.kind === "hold");

/** What may touch at a place: the held part what it rests on there, or the empty gripper the part that rests there. */
export function contactAt(cell: Cell, gripper: string, holder: string, place: number, holds: boolean): Contact {
  if (!holds) return { kind: "jaws", gripper, holder, place };
  const { restsOn = [], device } = cell.holders.get(holder)!;
  return { kind: "seat", gripper, shapes: new Set(device === undefined ? restsOn : [...restsOn, device]) };
}
