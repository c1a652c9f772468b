/** Programs against FCL (Debian packages g++, libfcl-dev, libeigen3-dev). */
import { buildReference, type ReferenceBuild } from "./build-reference.ts";

/** As buildReference, against FCL. */
export function buildFcl(source: string, folder?: string): ReferenceBuild {
  const library = {
    headers: ["fcl/fcl.h"],
    link: ["-lfcl", "-lccd"],
    missing: "FCL is not installed (Debian: libfcl-dev, libeigen3-dev)",
  };
  return buildReference(source, library, folder);
}
