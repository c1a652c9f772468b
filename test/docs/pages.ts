/** Which pages there are. */
import { readdirSync } from "node:fs";
import { join } from "node:path";

export const root = join(import.meta.dirname, "..", "..");

/** Every page of the documentation, relative to the root. */
export function allPages(): string[] {
  const below = readdirSync(join(root, "docs"), { recursive: true, encoding: "utf8" }).map((f) => join("docs", f));
  const beside = ["README.md", "CONTRIBUTING.md", "CHANGELOG.md", join("bench", "README.md")];
  return [...beside, ...below.filter((file) => file.endsWith(".md"))].sort();
}
