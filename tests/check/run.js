/** `npm run check`: format, lint and types, as many at once as there are processors; fails when one of them does. */
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { availableParallelism } from "node:os";
import { join } from "node:path";

const root = join(import.meta.dirname, "../..");
/** The page's files have types of their own: lint takes them apart from the rest, and so on another processor. */
const ofPage = ["src/page", "tests/page"];

/** Name, package or file of ours, and arguments; what takes longest first, so that nothing long is left for the end. */
const checks = [
  ["lint", "eslint", ".", ...ofPage.flatMap((folder) => ["--ignore-pattern", `${folder}/**`])],
  ["lint of the page", "eslint", ...ofPage],
  ["format", "prettier", "--check", "."],
  ["types", "typescript", "-p", "tsconfig.json"],
  ["types of Svelte", "svelte-check", "--tsconfig", "src/page/tsconfig.json", "--fail-on-warnings"],
  ["types of the pure rooms", "typescript", "-p", "shared/tsconfig.json"],
  ["circles of imports", "./tests/check/circles.js"],
];
const commands = { typescript: "tsc" };

/** The file that a package's command is: run by Node itself, it needs no shell on any system. */
function fileOf(name) {
  if (name.startsWith("./")) return join(root, name);
  const folder = join(root, "node_modules", name);
  const { bin } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  return join(folder, typeof bin === "string" ? bin : bin[commands[name] ?? name]);
}

/** Resolves with whether all was well; what was said comes out in one piece. */
function check([title, name, ...options]) {
  const begun = performance.now();
  const run = spawn(process.execPath, [fileOf(name), ...options], { cwd: root });
  const said = [];
  for (const stream of [run.stdout, run.stderr]) stream.on("data", (piece) => said.push(piece));
  return new Promise((resolve, reject) => {
    run.on("error", reject);
    run.on("close", (code) => {
      const seconds = ((performance.now() - begun) / 1000).toFixed(0);
      process.stdout.write(`${title}: ${code === 0 ? "well" : "FAILED"} after ${seconds} s\n`);
      process.stdout.write(Buffer.concat(said));
      resolve(code === 0);
    });
  });
}

const waiting = [...checks];
const failed = [];
async function takeTurns() {
  for (let next = waiting.shift(); next !== undefined; next = waiting.shift())
    if (!(await check(next))) failed.push(next[0]);
}
await Promise.all(Array.from({ length: availableParallelism() }, takeTurns));
process.stdout.write(failed.length === 0 ? "all is well\n" : `FAILED: ${failed.join(", ")}\n`);
process.exitCode = failed.length === 0 ? 0 : 1;
