/** The URDF reader against text that is not what it should be. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { joint, limit, link, robot, threeJoints } from "../../test/arms/urdf-snippets.ts";
import { buildArm } from "../arm/index.ts";
import { readUrdf } from "./index.ts";

describe("never throws, and whatever it accepts is a buildable arm", () => {
  const survives = (text: string) => {
    const result = readUrdf(text, "f");
    if (result.ok) buildArm(result.value);
    else {
      expect(result.issues.length).toBeGreaterThan(0);
      for (const { place, mend } of result.issues) {
        expect(place.line).toBeGreaterThanOrEqual(1);
        expect(place.column).toBeGreaterThanOrEqual(1);
        expect(place.line).toBeLessThanOrEqual(text.split("\n").length);
        expect(mend).not.toBe("");
      }
    }
  };
  const seed = 20240614;

  test("any text", () => {
    fc.assert(fc.property(fc.string({ unit: "binary", maxLength: 300 }), survives), { seed, numRuns: 500 });
    fc.assert(
      fc.property(
        fc.string({
          unit: fc.constantFrom(
            "<",
            ">",
            "/",
            "=",
            '"',
            "'",
            "&",
            "!",
            "[",
            "]",
            "-",
            "?",
            ";",
            " ",
            "a",
            "\r",
            "\n",
            "robot",
            "𝛼",
            "\uD835",
            "\uFEFF",
          ),
        }),
        survives,
      ),
      { seed, numRuns: 1000 },
    );
  });

  test("a good file with pieces cut out, doubled and swapped for others", () => {
    const whole = threeJoints(
      link("d", "<collision><geometry><sphere radius='1'/></geometry></collision>"),
      joint("f", "c", "d", "", "fixed"),
    );
    const words = [
      "",
      "NaN",
      "-1",
      "1e308",
      "-1e-320",
      "base",
      "<link name='q'/>",
      "</joint>",
      '"',
      "fixed",
      "0 0 0",
      "9".repeat(400),
      "<mimic/>",
      "&amp;",
      "&lt;",
      "\0",
    ];
    const change = fc.tuple(fc.nat(whole.length), fc.nat(30), fc.constantFrom(...words));
    fc.assert(
      fc.property(fc.array(change, { minLength: 1, maxLength: 4 }), (changes) => {
        let text = whole;
        for (const [at, length, word] of changes) text = text.slice(0, at) + word + text.slice(at + length);
        survives(text);
      }),
      { seed, numRuns: 3000 },
    );
  });

  test("trees of the right words with any values", () => {
    const value = fc.oneof(
      fc.constantFrom(
        "base",
        "a",
        "b",
        "c",
        "d",
        "revolute",
        "fixed",
        "prismatic",
        "continuous",
        "planar",
        "1",
        "0",
        "-1",
        "1 2 3",
        "0 0 1",
        "x",
      ),
      fc.double().map(String),
      fc.tuple(fc.double(), fc.double(), fc.double()).map((v) => v.join(" ")),
    );
    const names = [
      "link",
      "joint",
      "inertial",
      "collision",
      "origin",
      "mass",
      "inertia",
      "geometry",
      "box",
      "mesh",
      "axis",
      "limit",
      "parent",
      "child",
      "mimic",
      "robot",
    ];
    const keys = [
      "name",
      "type",
      "xyz",
      "rpy",
      "value",
      "ixx",
      "iyy",
      "izz",
      "ixy",
      "ixz",
      "iyz",
      "size",
      "link",
      "lower",
      "upper",
      "velocity",
      "effort",
      "filename",
    ];
    const { element } = fc.letrec<{ element: string; leaf: string }>((tie) => ({
      element: fc
        .tuple(
          fc.constantFrom(...names),
          fc.uniqueArray(fc.tuple(fc.constantFrom(...keys), value), { selector: ([key]) => key, maxLength: 6 }),
          fc.array(fc.oneof({ maxDepth: 4, withCrossShrink: true }, tie("leaf"), tie("element")), { maxLength: 5 }),
        )
        .map(
          ([name, attributes, children]) =>
            `<${name} ${attributes.map(([k, v]) => `${k}="${v}"`).join(" ")}>\n${children.join("")}</${name}>`,
        ),
      leaf: fc.constant(limit),
    }));
    fc.assert(
      fc.property(fc.array(element, { maxLength: 12 }), (parts) => survives(robot(...parts))),
      { seed, numRuns: 600 },
    );
  });

  test("very many links and very deep nesting", () => {
    const many = Array.from({ length: 20_000 }, (_, i) => `<link name="l${i}"/>`);
    survives(robot(...many));
    survives(
      robot(...many, ...Array.from({ length: 19_999 }, (_, i) => joint(`j${i}`, "l0", `l${i + 1}`, "", "fixed"))),
    );
    survives(
      robot(...many, ...Array.from({ length: 19_999 }, (_, i) => joint(`j${i}`, `l${i}`, `l${i + 1}`, "", "fixed"))),
    );
    survives(robot(...many.slice(0, 2), ...many.map((_, i) => joint(`j${i}`, `m${i}`, `n${i}`, "", "fixed"))));
    survives("<a>".repeat(5000));
    expect(readUrdf("x".repeat((1 << 24) + 1), "f")).toMatchObject({ issues: [{ code: "too-large" }] });
    expect(readUrdf(robot(...many), "f")).toMatchObject({ issues: { length: 100 } });
  });
});
