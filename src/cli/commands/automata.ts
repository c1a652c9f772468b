/** `millhand automata`: a network of timed automata from a file, its queries answered. */
import { type Exploration, explore, type QueryResult, readAutomataFile } from "../../proof/index.ts";
import { automataText } from "../automata-text.ts";
import { ExitStatus, UnusableInput } from "../exit-status.ts";
import { fileSource } from "../file-source.ts";
import { issuesText } from "../issues-text.ts";
import type { Job, JobResult } from "../job.ts";
import type { Progress } from "../job-thread.ts";

/** Of the JSON document. */
const SCHEMA_VERSION = 1;

/** Answers the queries of a file. @throws UnusableInput when it cannot be read */
export function automata(job: Extract<Job, { kind: "automata" }>, progress: Progress): JobResult {
  const got = fileSource(job.file).read(job.file);
  if ("problem" in got) throw new UnusableInput(`${job.file}: ${got.detail}`);
  const loaded = readAutomataFile(got.text, job.file);
  if (!loaded.ok) throw new UnusableInput(issuesText(loaded.issues));
  const { network, queries } = loaded.value;
  const chosen = job.query === undefined ? queries : queries.filter(({ name }) => name === job.query);
  if (chosen.length === 0) {
    const known = queries.map(({ name }) => name).join(", ");
    throw new UnusableInput(`${job.file}: --query: found ${job.query}; expected one of ${known}`);
  }
  const began = performance.now();
  const result = explore(network, chosen, {
    memory: job.memory * 2 ** 20,
    trace: job.trace,
    onProgress: (states, frontier) => {
      const seconds = (performance.now() - began) / 1000;
      progress(
        (states - frontier) / Math.max(1, states),
        `${inWords(states)} states, ${inWords(frontier)} waiting, ${inWords(states / Math.max(0.001, seconds))}/s`,
      );
    },
  });
  const stdout = job.json
    ? `${JSON.stringify(document(network.name, result), null, 2)}\n`
    : automataText(network.name, result, job.layout);
  const status = result.queries.every(({ verdict }) => verdict === "holds") ? ExitStatus.done : ExitStatus.findings;
  return { status, stdout, stderr: "" };
}

function document(network: string, result: Exploration) {
  return {
    schemaVersion: SCHEMA_VERSION,
    network,
    queries: result.queries.map(query),
    states: result.states,
    discreteStates: result.discreteStates,
    moves: result.moves,
  };
}

const query = ({ name, kind, verdict, reason, trace, loopFrom }: QueryResult) => ({
  name,
  kind,
  verdict,
  ...(reason === undefined ? {} : { reason }),
  trace: trace ?? [],
  ...(loopFrom === undefined ? {} : { loopFrom }),
});

const inWords = (count: number): string =>
  count < 10_000
    ? String(Math.round(count))
    : count < 1e7
      ? `${Math.round(count / 1000)}k`
      : `${(count / 1e6).toFixed(1)}M`;
