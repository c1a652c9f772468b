/** Programs against KDL (Debian packages g++, liborocos-kdl-dev, libeigen3-dev). */
import { buildReference, type ReferenceBuild } from "./build-reference.ts";

/** As buildReference, against KDL. */
export function buildKdl(source: string, folder?: string): ReferenceBuild {
  const library = {
    headers: ["kdl/chain.hpp"],
    link: ["-lorocos-kdl"],
    missing: "KDL is not installed (Debian: liborocos-kdl-dev, libeigen3-dev)",
  };
  return buildReference(source, library, folder);
}
