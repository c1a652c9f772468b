/**
 * Networks of timed automata explored exhaustively in dense time. What can be described is in model.ts and, as a file, in
 * docs/reference/automata-file.md; how it works and what the answers mean is in docs/explanation/timed-automata.md.
 */
export { type Built, buildNetwork, createNetwork } from "./build.ts";
export { type Exploration, type ExploreOptions, explore, type QueryResult } from "./explore.ts";
export { allOf, anyOf, compare, type Expression, isAt, not } from "./expression.ts";
export type * from "./model.ts";
export type { Network, Query } from "./network.ts";
export { type AutomataFile, readAutomataFile } from "./read-file.ts";
export type { TraceMove, TraceStep } from "./trace.ts";
