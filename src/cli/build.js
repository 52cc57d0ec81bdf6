/** Builds the page and the program from source into dist/, when the sources changed since the last build. */
import { createHash } from "node:crypto";
import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmdirSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import { setTimeout as pause } from "node:timers/promises";
import { licencesText } from "./licences.js";

const root = join(import.meta.dirname, "../..");
const dist = join(root, "dist");
const stampFile = join(dist, "built-from");
const lock = join(root, "dist.lock");
const sources = ["shared", "adapters", "src", "package.json", "package-lock.json", "vite.config.ts"];

/** A digest over path, size and time of change of every source file. */
function stampOf() {
  const hash = createHash("sha256");
  const walk = (path) => {
    const stat = statSync(path);
    if (stat.isDirectory()) {
      for (const name of readdirSync(path).sort()) walk(join(path, name));
    } else {
      hash.update(`${path}\0${stat.size}\0${stat.mtimeMs}\n`);
    }
  };
  for (const source of sources) if (existsSync(join(root, source))) walk(join(root, source));
  return hash.digest("hex");
}

function isFresh(stamp) {
  return existsSync(stampFile) && readFileSync(stampFile, "utf8") === stamp;
}

/** Two commands started at once in a fresh checkout must not build over each other. */
async function locked(work) {
  const givesUpAt = Date.now() + 180_000;
  for (;;) {
    try {
      mkdirSync(lock);
      break;
    } catch (error) {
      if (error.code !== "EEXIST") throw error;
      const age = Date.now() - statSync(lock, { throwIfNoEntry: false })?.mtimeMs;
      if (age > 120_000 || Date.now() > givesUpAt) break;
      await pause(200);
    }
  }
  try {
    await work();
  } finally {
    if (existsSync(lock)) rmdirSync(lock);
  }
}

/** Who asks, such as a run of tests, may be in a development mode; what is built is what people get. */
async function built(work) {
  const before = process.env.NODE_ENV;
  process.env.NODE_ENV = "production";
  try {
    await work();
  } finally {
    if (before === undefined) delete process.env.NODE_ENV;
    else process.env.NODE_ENV = before;
  }
}

async function build() {
  const { build: viteBuild } = await import("vite");
  const quiet = { logLevel: "error" };
  const page = await viteBuild({ configFile: join(root, "vite.config.ts"), ...quiet });
  const program = await viteBuild({
    root,
    configFile: false,
    ...quiet,
    build: {
      ssr: "src/cli/main.ts",
      outDir: "dist/node",
      emptyOutDir: true,
      target: "node20",
      rolldownOptions: { output: { entryFileNames: "crankside.js" } },
    },
    ssr: { noExternal: true, external: ["serialport", "@serialport/parser-readline", "ws"] },
  });
  const core = await viteBuild({
    root,
    configFile: false,
    ...quiet,
    build: {
      ssr: "src/core/index.ts",
      outDir: "dist/core",
      emptyOutDir: true,
      target: "es2022",
      rolldownOptions: { output: { entryFileNames: "index.js" } },
    },
    ssr: { noExternal: true },
  });
  await declareCore();
  const modules = [page, program, core]
    .flat()
    .flatMap(({ output }) => output.flatMap((file) => file.moduleIds ?? []));
  writeFileSync(join(dist, "licences.txt"), licencesText(modules));
}

/** The types of the library: its door says every type itself, so each file is declared without the others. */
async function declareCore() {
  const { default: ts } = await import("typescript");
  for (const name of ["index", "types"]) {
    const text = readFileSync(join(root, `src/core/${name}.ts`), "utf8");
    const { outputText } = ts.transpileDeclaration(text, { fileName: `${name}.ts` });
    writeFileSync(join(dist, `core/${name}.d.ts`), outputText.replaceAll("./types.ts", "./types.js"));
  }
}

export async function buildIfStale() {
  if (isFresh(stampOf())) return;
  await locked(async () => {
    const stamp = stampOf();
    if (isFresh(stamp)) return;
    process.stderr.write("Building from source...\n");
    await built(build);
    writeFileSync(stampFile, stamp);
  });
}

if (process.argv[1] === import.meta.filename) await buildIfStale();
