/**
 * Compiles a C++ program against a library from Debian, for benchmarks and for the comparison tests. Built once per source
 * text: the binary's name carries a hash of it.
 */
import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readFileSync, renameSync } from "node:fs";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";

export type ReferenceBuild =
  | { readonly ok: true; readonly binary: string }
  /** A tool or library is not installed. */
  | { readonly ok: false; readonly reason: string };

export interface ReferenceLibrary {
  /** Headers that are there when the library is: "kdl/chain.hpp". */
  readonly headers: readonly string[];
  /** Name for pkg-config and folder of the headers where that does not know it, if they are not on the compiler's own path. */
  readonly include?: readonly [name: string, folder: string];
  /** For the linker: "-lorocos-kdl". */
  readonly link: readonly string[];
  /** What to say when it is missing. */
  readonly missing: string;
}

const FLAGS = ["-std=c++17", "-O3", "-DNDEBUG"];

/**
 * @param source path of the .cpp file
 * @param folder where the binary goes; default .bench/ at the repository root
 * @throws Error when the compiler and the library are there and the program does not compile
 */
export function buildReference(
  source: string,
  library: ReferenceLibrary,
  folder = fileURLToPath(new URL("../.bench", import.meta.url)),
): ReferenceBuild {
  if (spawnSync("g++", ["--version"]).status !== 0) return { ok: false, reason: "g++ is not installed" };
  const folders = [
    ...includeFlags("eigen3", "/usr/include/eigen3"),
    ...(library.include === undefined ? [] : includeFlags(...library.include)),
  ];
  const probe = spawnSync("g++", ["-E", "-x", "c++", ...folders, "-"], {
    input: library.headers.map((header) => `#include <${header}>\n`).join(""),
    stdio: ["pipe", "ignore", "ignore"],
  });
  if (probe.status !== 0) return { ok: false, reason: library.missing };

  const hash = createHash("sha256").update(readFileSync(source)).update(FLAGS.join(" ")).digest("hex").slice(0, 12);
  const binary = join(folder, `${basename(source, ".cpp")}-${hash}`);
  if (existsSync(binary)) return { ok: true, binary };
  mkdirSync(folder, { recursive: true });
  const fresh = `${binary}.${process.pid}`;
  const done = spawnSync("g++", [...FLAGS, ...folders, source, "-o", fresh, ...library.link], { encoding: "utf8" });
  if (done.status !== 0) throw new Error(`${source} does not compile:\n${done.stderr}`);
  renameSync(fresh, binary);
  return { ok: true, binary };
}

function includeFlags(name: string, folder: string): string[] {
  const listed = spawnSync("pkg-config", ["--cflags-only-I", name], { encoding: "utf8" });
  return listed.status === 0 ? listed.stdout.trim().split(/\s+/).filter(Boolean) : [`-I${folder}`];
}
