/** The wiring floor: whether the signals find their points. Computed: points used and available, port by port. */
export { countPoints, type PortUse } from "./count.ts";
