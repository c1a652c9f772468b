/** Kinds of names: new ones, those of things declared elsewhere in the cell, signals used in one way. */
import { isNothing, type Written } from "../text/written.ts";
import type { Kind, Reading } from "./kind.ts";
import { missingName, type Thing } from "./names.ts";

export const NAME = /^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$/;

/** A name given here (a key of a map or a word in a list); not checked against anything. */
export const newName: Kind<string> = {
  expected: "a name of letters, digits, - and _",
  read(at, reading) {
    if (at.kind === "scalar" && NAME.test(at.text)) return at.text;
    return reading.log.wrong(
      "bad-name",
      at,
      "a name of letters, digits, - and _, at most 64",
      "Choose a name without spaces and other signs.",
    );
  },
  schema: () => ({ type: ["string", "integer"], pattern: NAME.source }),
};

/** Name of something declared elsewhere in the cell. Inside a machine's section its own things go by their short names. */
export function nameOf(thing: Thing): Kind<string> {
  const expected = `the name of ${thing === "operator place" ? "an" : "a"} ${thing}`;
  return {
    expected,
    read(at, reading) {
      if (at.kind !== "scalar" || isNothing(at))
        return reading.log.wrong("wrong-type", at, expected, `Write ${expected}.`);
      return resolveName(at, at.text.trim(), thing, reading);
    },
    schema: () => ({ type: ["string", "integer"], description: expected }),
  };
}

/** The full name meant by a written one, or an issue at `at`. */
export function resolveName(at: Written, name: string, thing: Thing, reading: Reading): string | undefined {
  const known = reading.names.of[thing];
  if (reading.machine !== undefined) {
    const own = `${reading.machine}.${name}`;
    if (known.has(own)) return own;
  }
  return known.has(name) ? name : missingName(reading, at, thing, name, known);
}

/** Name of a signal that is used in one way: an output is driven, an input is read. */
export function signal(use: "output" | "input" | "any", digital = true): Kind<string> {
  const base = nameOf("signal");
  const article = use === "any" ? "a signal" : use === "output" ? "an output" : "an input";
  return {
    expected: `the name of ${article}`,
    read(at, reading) {
      const name = base.read(at, reading);
      return name === undefined || !checkSignal(at, name, use, digital, reading) ? undefined : name;
    },
    schema: (parts) => ({ ...base.schema(parts), description: `the name of ${article}` }),
  };
}

/** False once an issue is logged: a signal of the wrong direction or kind. */
export function checkSignal(
  at: Written,
  name: string,
  use: "output" | "input" | "any",
  digital: boolean,
  reading: Reading,
): boolean {
  const known = reading.names.signals.get(name);
  if (use !== "any" && known?.direction !== undefined && known.direction !== use) {
    const [wrong, right] =
      use === "output"
        ? ["an input, which the controller only reads", "an output"]
        : ["an output, which the controller only drives", "an input"];
    reading.log.add(
      "signal-direction",
      at,
      `${name}, ${wrong}`,
      right,
      `Name ${right}, or correct the direction of ${name} under signals.`,
    );
    return false;
  }
  if (digital && known && known.kind !== "digital" && (known.kind === "analogue" || known.kind === "register")) {
    reading.log.add(
      "signal-kind",
      at,
      `${name}, ${known.kind === "analogue" ? "an analogue" : "a register"} signal`,
      "a digital signal",
      "Name a signal that is on or off.",
    );
    return false;
  }
  return true;
}
