/** The caller broke a function's contract: a bug in the calling code, never a property of the user's input. */
export class ContractError extends Error {
  override readonly name = "ContractError";
}
