import { two } from "../cell/thing.ts";

export const good = two;
