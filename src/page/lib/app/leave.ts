/** What the program is asked for, what leaves the page as a file, and the reason where it does not. */
import type { z } from "zod/mini";
import { CranksideError, errorCodes, messageOf, type ErrorCode } from "../../../../shared/errors.ts";
import { jobFailureSchema, leftOutHeader } from "../../../../shared/jobMessages.ts";

/** An error of the program, told again in its own words. */
export class Told extends CranksideError {
  constructor(code: string, message: string) {
    super((errorCodes as readonly string[]).includes(code) ? (code as ErrorCode) : "server-failed", message);
  }
}

/** The failure in an answer that is none: a JSON one of ours, or plain words. */
export function toldIn(text: string): CranksideError {
  try {
    const failure = jobFailureSchema.safeParse(JSON.parse(text));
    if (failure.success) return new Told(failure.data.code, failure.data.message);
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
  }
  return new CranksideError("server-failed", text.trim().slice(0, 400) || "no answer");
}

/** The program's answer, whatever it says. Rejects with `link-closed` where it does not answer. */
export async function reached(url: string, init: RequestInit = {}): Promise<Response> {
  try {
    return await fetch(url, { cache: "no-store", ...init });
  } catch (error) {
    throw new CranksideError(
      "link-closed",
      "Crankside itself does not answer",
      { found: messageOf(error) },
      error,
    );
  }
}

/** The answer behind an address of ours. Rejects with what the program says, or `link-closed`. */
export async function askedFor(url: string, init: RequestInit = {}): Promise<Response> {
  const response = await reached(url, init);
  if (!response.ok) throw toldIn(await response.text());
  return response;
}

/** What is told of at an address of ours, if it is told here; null: the page does as well without it. */
export async function toldAt<T>(url: string, schema: z.ZodMiniType<T>): Promise<T | null> {
  try {
    const response = await fetch(url, { cache: "no-store" });
    if (!response.ok) return null;
    const told = schema.safeParse(await response.json());
    return told.success ? told.data : null;
  } catch {
    return null;
  }
}

export interface Leaving {
  readonly blob: Blob;
  readonly name: string;
  /** What could not be taken along, in words; empty where all was. */
  readonly leftOut: string;
}

/** A file with the name that the program gives it, else `fallback`. Rejects as `askedFor` does, also midway. */
export async function leavingFile(url: string, fallback: string): Promise<Leaving> {
  const response = await askedFor(url);
  const name = /filename="([^"]+)"/.exec(response.headers.get("content-disposition") ?? "")?.[1];
  const leftOut = decodeURIComponent(response.headers.get(leftOutHeader) ?? "");
  try {
    return { blob: await response.blob(), name: name ?? fallback, leftOut };
  } catch (error) {
    throw new CranksideError(
      "link-closed",
      "the file broke off on its way",
      { found: messageOf(error) },
      error,
    );
  }
}
