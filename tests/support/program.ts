/** The program as a person runs it: its own process, built from the sources. */
import { spawn, type ChildProcess } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const root = join(import.meta.dirname, "../..");
const command = join(root, "src/cli/crankside.js");

export interface Run {
  readonly status: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

/** A folder of its own that goes with the test. */
export function tempFolder(): { readonly path: string; remove(): void } {
  const path = mkdtempSync(join(tmpdir(), "crankside-test-"));
  return { path, remove: () => rmSync(path, { recursive: true, force: true }) };
}

export function start(args: readonly string[], cwd = root, input?: string): ChildProcess {
  const stdin = input === undefined ? "ignore" : "pipe";
  const child = spawn(process.execPath, [command, ...args], { cwd, stdio: [stdin, "pipe", "pipe"] });
  child.stdin?.end(input);
  return child;
}

/** Runs a command to its end; `input`: what a person types. */
export function crankside(args: readonly string[], cwd = root, input?: string): Promise<Run> {
  return new Promise((resolve, reject) => {
    const child = start(args, cwd, input);
    let stdout = "";
    let stderr = "";
    child.stdout?.setEncoding("utf8").on("data", (text: string) => (stdout += text));
    child.stderr?.setEncoding("utf8").on("data", (text: string) => (stderr += text));
    child.once("error", reject);
    child.once("close", (status) => resolve({ status, stdout, stderr }));
  });
}

export interface Background {
  /** What the pattern matched, group 1 first. */
  readonly said: RegExpExecArray;
  /** Asks it to end, as Ctrl-C does, and waits until it has. */
  stop(): Promise<void>;
}

/** Starts a command that goes on, and waits until it has said what the pattern looks for. */
export function background(args: readonly string[], pattern: RegExp): Promise<Background> {
  return new Promise((resolve, reject) => {
    const child = start(args);
    let output = "";
    let errors = "";
    const ended = new Promise<void>((done) => child.once("close", () => done()));
    const stop = async (): Promise<void> => {
      child.kill("SIGINT");
      await ended;
    };
    child.stderr?.setEncoding("utf8").on("data", (text: string) => (errors += text));
    child.stdout?.setEncoding("utf8").on("data", (text: string) => {
      output += text;
      const said = pattern.exec(output);
      if (said !== null) resolve({ said, stop });
    });
    child.once("error", reject);
    child.once("close", (status) =>
      reject(new Error(`ended with ${status} before saying ${pattern}: ${output}${errors}`)),
    );
  });
}

/** The service with a recordings folder of its own; group 1 is its address. */
export function service(folder: string): Promise<Background> {
  return background(["serve", "--no-open", "--port", "0", "--folder", folder], /Crankside is at (http:\S+)/);
}
