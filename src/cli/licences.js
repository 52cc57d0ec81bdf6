/** What the build took in from other packages, with the licence text that each of them asks to be kept. */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join, sep } from "node:path";

const inside = `${sep}node_modules${sep}`;

/** Folders of the packages that these modules come from, by name. */
function packagesOf(moduleIds) {
  const folders = new Map();
  for (const id of moduleIds) {
    const path = id.replace(/^\0/, "").split("?")[0];
    const at = path.lastIndexOf(inside);
    if (at < 0) continue;
    const [first, second] = path.slice(at + inside.length).split(sep);
    const name = first.startsWith("@") ? `${first}/${second}` : first;
    folders.set(name, path.slice(0, at) + inside + name.replaceAll("/", sep));
  }
  return folders;
}

export function licencesText(moduleIds) {
  const parts = [...packagesOf(moduleIds)]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([name, folder]) => {
      const { version, license, author } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
      const by = typeof author === "string" ? author : (author?.name ?? "");
      const file = existsSync(folder) ? readdirSync(folder).find((f) => /^licen[cs]e/i.test(f)) : undefined;
      const text =
        file === undefined
          ? `No licence file comes with it. By ${by}.`
          : readFileSync(join(folder, file), "utf8");
      return `${name} ${version} (${license})\n\n${text.trim()}\n`;
    });
  return `Crankside contains parts of these packages.\n\n${parts.join(`\n${"-".repeat(80)}\n\n`)}`;
}
