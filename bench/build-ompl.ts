/** Programs against OMPL and FCL (Debian packages g++, libompl-dev, libfcl-dev, libeigen3-dev). */
import { buildReference, type ReferenceBuild } from "./build-reference.ts";

/** As buildReference, against OMPL for planning and FCL for collisions. */
export function buildOmpl(source: string, folder?: string): ReferenceBuild {
  const library = {
    headers: ["ompl/config.h", "fcl/fcl.h"],
    include: ["ompl", "/usr/include/ompl-1.5"] as const,
    link: ["-lompl", "-lfcl", "-lccd"],
    missing: "OMPL or FCL is not installed (Debian: libompl-dev, libfcl-dev, libeigen3-dev)",
  };
  return buildReference(source, library, folder);
}
