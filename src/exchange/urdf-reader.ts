/** Reading of attributes of a URDF file, with every problem noted and reading carried on. */
import type { InputIssue } from "../cell/issue.ts";
import { didYouMean, nearest } from "../cell/text/did-you-mean.ts";
import { identityPose, type Pose, poseFromAbc } from "../math/pose.ts";
import { placeIn, type XmlElement } from "./xml.ts";

/** Largest length (m), so that a file in millimetres is noticed and no sum overflows. */
export const LONGEST_LENGTH = 1000;
const LONGEST_SHOWN = 60;
const MOST_LISTED = 100;
const NUMBER = /^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$/;

export class UrdfReader {
  readonly #noted: { readonly issue: Omit<InputIssue, "place">; readonly start: number }[] = [];
  readonly #text: string;
  readonly #file: string;

  constructor(text: string, file: string) {
    this.#text = text;
    this.#file = file;
  }

  get clean(): boolean {
    return this.#noted.length === 0;
  }

  /** Issues in the order of the file; past a hundred the last one says how many more there are. */
  issues(): InputIssue[] {
    const sorted = this.#noted.toSorted((a, b) => a.start - b.start);
    const listed = sorted
      .slice(0, MOST_LISTED)
      .map(({ issue, start }) => ({ ...issue, place: placeIn(this.#text, this.#file, start) }));
    if (sorted.length <= MOST_LISTED) return listed;
    listed[MOST_LISTED - 1] = {
      ...listed[MOST_LISTED - 1]!,
      code: "too-many-issues",
      path: "",
      found: `${sorted.length - MOST_LISTED + 1} more problems from here on`,
      expected: "fewer",
      mend: "Mend the ones listed first and read the file again.",
    };
    return listed;
  }

  note(code: string, path: string, start: number, found: string, expected: string, mend: string): undefined {
    const shown = found.length > LONGEST_SHOWN ? `${found.slice(0, LONGEST_SHOWN)}…` : found;
    this.#noted.push({ issue: { code, path, found: shown, expected, mend }, start });
    return undefined;
  }

  /** The only child of that name; a second one is an issue. */
  child(element: XmlElement, name: string, path: string): XmlElement | undefined {
    const [first, second] = element.children.filter((child) => child.name === name);
    if (second !== undefined)
      this.note(
        "repeated-element",
        `${path}.${name}`,
        second.start,
        `a second <${name}>`,
        "one",
        "Keep one of the two.",
      );
    return first;
  }

  /** Elements that look like a mistyped known one. Others are extensions of other programs and are passed over. */
  checkChildren(element: XmlElement, known: readonly string[], path: string): void {
    for (const child of element.children) {
      if (known.includes(child.name) || child.name.includes(":")) continue;
      const near = nearest(child.name, known);
      if (near === undefined) continue;
      this.note(
        "unknown-element",
        `${path}.${child.name}`,
        child.start,
        `<${child.name}>`,
        `<${near}>`,
        `Did you mean ${near}?`,
      );
    }
  }

  /** A text attribute that must be there and not be empty. */
  text(element: XmlElement, name: string, path: string): string | undefined {
    const attribute = element.attributes.get(name);
    if (attribute === undefined) {
      const guess = didYouMean(name, element.attributes.keys());
      return this.note(
        "missing-attribute",
        `${path}.${name}`,
        element.start,
        `<${element.name}> without ${name}`,
        `the attribute ${name}`,
        guess === "" ? `Add ${name}="…".` : `It must be spelled ${name}.`,
      );
    }
    if (attribute.value.trim() === "")
      return this.note(
        "empty-attribute",
        `${path}.${name}`,
        attribute.start,
        `${name}=""`,
        "a name",
        `Fill in ${name}.`,
      );
    return attribute.value;
  }

  /** Numbers parted by white space. Missing: `fallback` when given, else an issue. */
  numbers(
    element: XmlElement,
    name: string,
    count: number,
    path: string,
    unit: string,
    largest = Number.MAX_VALUE,
    fallback?: readonly number[],
  ): readonly number[] | undefined {
    const attribute = element.attributes.get(name);
    if (attribute === undefined) {
      if (fallback !== undefined) return fallback;
      return this.text(element, name, path) as undefined;
    }
    const expected = count === 1 ? `a number (${unit})` : `${count} numbers (${unit})`;
    const words = attribute.value.trim().split(/\s+/);
    const values = words.map(Number);
    const where = `${path}.${name}`;
    if (words.length !== count || !words.every((word) => NUMBER.test(word)) || !values.every(Number.isFinite))
      return this.note(
        "bad-number",
        where,
        attribute.start,
        `"${attribute.value}"`,
        expected,
        "Write plain decimal numbers.",
      );
    if (values.some((value) => Math.abs(value) > largest))
      return this.note(
        "out-of-range",
        where,
        attribute.start,
        `"${attribute.value}"`,
        `${expected}, none beyond ${largest}`,
        `URDF is in SI units; check that the value is in ${unit}.`,
      );
    return values;
  }

  number(element: XmlElement, name: string, path: string, unit: string, largest?: number): number | undefined {
    return this.numbers(element, name, 1, path, unit, largest)?.[0];
  }

  /** A number that must be above 0; undefined with an issue otherwise. */
  positive(element: XmlElement, name: string, path: string, unit: string, largest?: number): number | undefined {
    const value = this.number(element, name, path, unit, largest);
    if (value === undefined || value > 0) return value;
    return this.note(
      "out-of-range",
      `${path}.${name}`,
      element.attributes.get(name)!.start,
      `${value}`,
      `above 0 (${unit})`,
      `Check ${name}.`,
    );
  }

  /** <origin xyz rpy> of an element: position, then turns about the fixed axes x, y, z. Missing: identity. */
  origin(element: XmlElement, path: string): Pose {
    const origin = this.child(element, "origin", path);
    if (origin === undefined) return identityPose();
    const xyz = this.numbers(origin, "xyz", 3, `${path}.origin`, "m", LONGEST_LENGTH, [0, 0, 0]);
    const rpy = this.numbers(origin, "rpy", 3, `${path}.origin`, "rad", 1e6, [0, 0, 0]);
    const [roll, pitch, yaw] = rpy ?? [0, 0, 0];
    const pose = poseFromAbc(xyz ?? [0, 0, 0], roll!, pitch!, yaw!);
    // The rounding of a right angle is no turn.
    for (const k of [0, 1, 2, 4, 5, 6, 8, 9, 10]) if (Math.abs(pose[k]!) < 1e-15) pose[k] = 0;
    return pose;
  }
}
