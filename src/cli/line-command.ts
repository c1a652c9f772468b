/** What the commands that answer JSON Lines have in common: the streams, the messages and the exit status. */
import { ExitStatus } from "./exit-status.ts";
import { type LineWork, mapJsonLines } from "./json-lines.ts";

/** Answers the standard input line by line, after a note to the user if there is one. Unusable input when any line was bad. */
export async function answerLines(work: LineWork, asDocument: boolean, note: string | undefined): Promise<ExitStatus> {
  const { stdin, stdout, stderr } = process;
  if (note !== undefined) stderr.write(`millhand: ${note}\n`);
  if (stdin.isTTY) stderr.write("millhand: reading JSON Lines from the terminal; Ctrl-D ends the input\n");
  const { bad } = await mapJsonLines({
    input: stdin,
    output: stdout,
    report: (message) => stderr.write(`millhand: ${message}\n`),
    work,
    asDocument,
  });
  return bad > 0 ? ExitStatus.unusable : ExitStatus.done;
}
