/** Version of the program. */
export { version } from "../../package.json" with { type: "json" };
