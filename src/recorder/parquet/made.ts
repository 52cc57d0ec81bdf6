/**
 * What an export wrote so far, a line a source, in a file beside its folder and not in it: it names what a masked export
 * hides. So what was broken off is carried on, and only what is new or changed is written again.
 */
import { createHmac, randomBytes } from "node:crypto";
import { appendFileSync, readFileSync } from "node:fs";
import { z } from "zod/mini";
import { CranksideError } from "../../../shared/errors.ts";
import { systemCode, unreadable, unwritable } from "../problems.ts";

const headSchema = z.object({ format: z.literal("crankside-made"), version: z.int(), salt: z.string() });
const lineSchema = z.object({
  source: z.string(),
  /** Size, time of change, and all else that the result depends on. */
  stamp: z.string(),
  files: z.array(z.string()),
});
export type MadeLine = z.infer<typeof lineSchema>;

export const madePath = (out: string): string => `${out.replace(/[/\\]+$/, "")}.made.ndjson`;

export class Made {
  readonly #path: string;
  readonly #salt: string;
  readonly #lines = new Map<string, MadeLine>();
  #torn: boolean;

  /** Throws `file-unreadable`, `file-unwritable`, or `newer-format`. */
  constructor(out: string) {
    this.#path = madePath(out);
    const text = this.#read();
    this.#torn = text !== "" && !text.endsWith("\n");
    const [first = "", ...rest] = text.split("\n");
    const head = headSchema.safeParse(parsed(first));
    if (!head.success) {
      if (text.trim() !== "") {
        throw new CranksideError("file-unreadable", "this is no list of what was exported", {
          expected: "a file that an export wrote, or none",
          where: this.#path,
        });
      }
      this.#salt = randomBytes(16).toString("hex");
      this.#append({ format: "crankside-made", version: 1, salt: this.#salt });
      return;
    }
    if (head.data.version > 1) {
      throw new CranksideError("newer-format", "the list of what was exported is of a later version", {
        expected: "1",
        found: String(head.data.version),
        where: this.#path,
      });
    }
    this.#salt = head.data.salt;
    for (const line of rest) {
      // The last one may be torn: then its source is written again.
      const one = lineSchema.safeParse(parsed(line));
      if (one.success) this.#lines.set(one.data.source, one.data);
    }
  }

  get(source: string): MadeLine | undefined {
    return this.#lines.get(source);
  }

  sources(): string[] {
    return [...this.#lines.keys()];
  }

  set(line: MadeLine): void {
    this.#append(line);
    this.#lines.set(line.source, line);
  }

  /** A name that tells one from another and tells nobody who it is; the same at each export to this place. */
  pseudonym(kind: string, of: string): string {
    return `${kind}-${createHmac("sha256", this.#salt).update(`${kind}\0${of}`).digest("hex").slice(0, 12)}`;
  }

  #read(): string {
    try {
      return readFileSync(this.#path, "utf8");
    } catch (error) {
      if (systemCode(error) === "ENOENT") return "";
      throw unreadable(this.#path, error);
    }
  }

  /** On a line of its own, also behind a torn one. */
  #append(line: object): void {
    try {
      appendFileSync(this.#path, `${this.#torn ? "\n" : ""}${JSON.stringify(line)}\n`);
      this.#torn = false;
    } catch (error) {
      throw unwritable(this.#path, error);
    }
  }
}

function parsed(line: string): unknown {
  try {
    return JSON.parse(line);
  } catch (error) {
    if (error instanceof SyntaxError) return null;
    throw error;
  }
}
