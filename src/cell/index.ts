/**
 * The cell file: read, checked and put together in SI units. Pure: texts come from a `CellSource`. What a cell file can say is in
 * docs/reference/cell-file.md; the model it is read into is in model.ts.
 */
export type * from "./arm-description.ts";
export * from "./dh.ts";
export type * from "./finding.ts";
export * from "./guarding.ts";
export type * from "./handling.ts";
export { formatIssue, type InputIssue, type Loaded, type SourcePlace } from "./issue.ts";
export { cellJsonSchema } from "./json-schema.ts";
export { type LoadOptions, loadArm, loadCell } from "./load.ts";
export * from "./model.ts";
export * from "./reframe.ts";
export type * from "./rules.ts";
export type { ArmReader } from "./sections/arm.ts";
export * from "./shapes.ts";
export type * from "./steps.ts";
export { type CellSource, folderOf, resolveIn } from "./text/source.ts";
