/** Fails when files import each other in a circle, types included: `npm run check` says so, file by file. */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { pathToFileURL } from "node:url";
import ts from "typescript";

/**
 * The circles of a graph, each once: Tarjan's strongly connected components (SIAM J. Comput. 1, 1972).
 * @param {ReadonlyMap<string, readonly string[]>} graph
 * @returns {string[][]}
 */
export function circlesOf(graph) {
  const index = new Map();
  const low = new Map();
  const stack = [];
  const found = [];
  const visit = (at) => {
    index.set(at, index.size);
    low.set(at, index.get(at));
    stack.push(at);
    for (const next of graph.get(at) ?? []) {
      if (!index.has(next)) visit(next);
      if (stack.includes(next)) low.set(at, Math.min(low.get(at), low.get(next)));
    }
    if (low.get(at) !== index.get(at)) return;
    const members = stack.splice(stack.indexOf(at));
    if (members.length > 1 || (graph.get(at) ?? []).includes(at)) found.push(members);
  };
  for (const at of graph.keys()) if (!index.has(at)) visit(at);
  return found;
}

/** The scripts of a component; any other file is one. */
function scripts(file) {
  const text = readFileSync(file, "utf8");
  if (!file.endsWith(".svelte")) return text;
  return [...text.matchAll(/<script[^>]*>([\s\S]*?)<\/script>/g)].map(([, script]) => script).join("\n");
}

/** Who imports whom among our own files. */
export function importsBelow(root) {
  const files = ["shared", "adapters", "src"].flatMap((room) =>
    readdirSync(join(root, room), { recursive: true, encoding: "utf8" })
      .filter((file) => /\.(?:ts|js|svelte)$/.test(file))
      .map((file) => join(room, file)),
  );
  return new Map(
    files.map((file) => {
      const { importedFiles } = ts.preProcessFile(scripts(join(root, file)), true, true);
      const own = importedFiles
        .map(({ fileName }) => fileName.split("?")[0])
        .filter((n) => n.startsWith("."));
      const paths = own.map((name) => join(root, dirname(file), name)).filter((path) => existsSync(path));
      return [file, paths.map((path) => relative(root, path))];
    }),
  );
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const found = circlesOf(importsBelow(join(import.meta.dirname, "../..")));
  for (const members of found) process.stdout.write(`files import each other: ${members.join(", ")}\n`);
  process.exitCode = found.length === 0 ? 0 : 1;
}
