/** Proofs about interlocks. So far the engine they rest on: exhaustive exploration of timed automata. */
export * from "./automata/index.ts";
