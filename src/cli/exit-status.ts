/** What the process tells its caller when it ends. */
export const ExitStatus = {
  /** Done, and no finding of severity error. */
  done: 0,
  /** Findings of severity "error". */
  findings: 1,
  /** Arguments or input that cannot be used. */
  unusable: 2,
  /** Stopped from outside. */
  interrupted: 3,
} as const;

export type ExitStatus = (typeof ExitStatus)[keyof typeof ExitStatus];

/** Arguments or input that cannot be used. Printed as it is, without a stack; the process ends with status 2. */
export class UnusableInput extends Error {
  override readonly name = "UnusableInput";
}
