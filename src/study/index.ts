/** The study floor: many variations of one cell, compared. */
export type { GridMap, MapMark, MapOutline } from "./map.ts";
