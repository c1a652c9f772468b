import { readFileSync } from "node:fs";

export const read = (): string => readFileSync("x", "utf8");
