/** One module asked alone: its header, what else the adapter has to be told, the request. Taking it back is not here. */
import type { HeaderPair } from "./headers.ts";
import type { Exchange } from "./machine.ts";
import { isReset } from "./words.ts";

/** `exchange` sends what was permitted. Resolves with the request's exchange, or with what kept it back. */
export async function askOne(
  exchange: (ask: string) => Promise<Exchange>,
  request: string,
  headers: HeaderPair,
): Promise<Exchange> {
  const set = await exchange(headers.alone);
  if (!set.answer.some((line) => line.trim() === "OK")) return set;
  for (const setting of headers.before ?? []) {
    const told = await exchange(setting);
    // Refused, a long reply may end early; that is for the framing to tell. Silent or begun anew, nothing is asked.
    if (told.end === null || isReset(told.err)) return told;
  }
  return exchange(request);
}
