import { two } from "../cell/thing.ts";

export const four = 2 * two;
