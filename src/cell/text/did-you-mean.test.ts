import { expect, it } from "vitest";
import { didYouMean, editDistance, nearest } from "./did-you-mean.ts";

it.each([
  ["chukc", "chuck", 1],
  ["kitten", "sitting", 3], // the textbook pair of Levenshtein distance
  ["", "abc", 3],
  ["abc", "abc", 0],
  ["ca", "abc", 3], // optimal string alignment, not unrestricted Damerau
])("%s to %s: %i", (a, b, distance) => {
  expect(editDistance(a, b)).toBe(distance);
  expect(editDistance(b, a)).toBe(distance);
});

it("finds the nearest word, whatever the case and separators, and nothing far away", () => {
  expect(nearest("ratedLoad", ["rated load", "tool limits"])).toBe("rated load");
  expect(nearest("motor_inertia", ["motor inertia"])).toBe("motor inertia");
  expect(nearest("gripper", ["chuck", "door"])).toBeUndefined();
  expect(nearest("x", ["y"])).toBe("y");
  expect(nearest("", ["y"])).toBeUndefined();
  expect(nearest("a".repeat(1000), ["a".repeat(999)])).toBeUndefined();
  expect(didYouMean("dor", ["door"])).toBe("Did you mean door?");
  expect(didYouMean("window", ["door"])).toBe("");
});
