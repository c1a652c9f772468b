import { three } from "../handling/thing.ts";

export const six = 2 * three;
