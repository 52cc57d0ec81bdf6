import { spawn } from "node:child_process";
import { CranksideError, messageOf } from "../../shared/errors.ts";
import { realClock } from "./clock.ts";

export interface SerialPair {
  /** Device names of the two ends. */
  readonly a: string;
  readonly b: string;
  /** Takes the line away, as if both plugs were pulled; resolves when it is gone. Twice is fine. */
  close(): Promise<void>;
}

const madeWithinMs = 5000;

/**
 * Two serial devices that are wired to each other, made by socat. Rejects with `port-missing` where socat is not
 * installed and `link-failed` when it cannot make the pair.
 */
export function serialPair(program = "socat"): Promise<SerialPair> {
  return new Promise((resolve, reject) => {
    const child = spawn(program, ["-d", "-d", "pty,raw,echo=0", "pty,raw,echo=0"], {
      stdio: ["ignore", "ignore", "pipe"],
    });
    const kill = (): boolean => child.kill();
    // A pair without its maker is of no use to anybody.
    process.once("exit", kill);
    const ended = new Promise<void>((done) => {
      child.once("close", () => {
        process.removeListener("exit", kill);
        done();
      });
    });
    let said = "";
    let settled = false;
    const settle = (act: () => void): void => {
      if (settled) return;
      settled = true;
      cancel();
      act();
    };
    const failed = (found: string): void =>
      settle(() => {
        kill();
        reject(
          new CranksideError("link-failed", "no serial pair could be made", {
            expected: "two pseudo-terminals",
            found: found.slice(-300),
            where: program,
          }),
        );
      });
    const cancel = realClock.after(madeWithinMs, () => failed(`nothing within ${madeWithinMs} ms: ${said}`));
    child.once("error", (error: NodeJS.ErrnoException) => {
      if (error.code !== "ENOENT") {
        failed(messageOf(error));
        return;
      }
      settle(() =>
        reject(
          new CranksideError(
            "port-missing",
            "a serial pair needs the program socat",
            {
              found: "it is not installed",
              where: program,
              advice: "Install it (Debian: `apt install socat`).",
            },
            error,
          ),
        ),
      );
    });
    child.once("exit", () => failed(`it ended: ${said}`));
    child.stderr.setEncoding("utf8");
    child.stderr.on("data", (text: string) => {
      // Read on for as long as it runs, so that its pipe never fills; remember only until the names are known.
      if (settled) return;
      said += text;
      const [a, b] = [...said.matchAll(/PTY is (\S+)/g)].map((match) => match[1]);
      if (a === undefined || b === undefined || !said.includes("starting data transfer")) return;
      settle(() =>
        resolve({
          a,
          b,
          async close() {
            kill();
            await ended;
          },
        }),
      );
    });
  });
}
