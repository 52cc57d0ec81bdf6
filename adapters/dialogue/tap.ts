import { CranksideError, isCranksideError } from "../../shared/errors.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { Exchange } from "./machine.ts";

/** An exchange as it goes into the recording, before anybody interprets it. */
export function recordExchange(exchange: Exchange, sink: EventSink | null): void {
  if (sink === null) return;
  const { ask, sentMs, lines, first, end, err } = exchange;
  sink.append({
    k: "x",
    t: Math.max(0, sentMs - sink.zeroMs),
    ask,
    lines,
    first,
    end,
    ...(err === undefined ? {} : { err }),
  });
}

/** For whoever waits for something on a line that is gone; `why` null: closed from our side. */
export function closedError(where: string, why: CranksideError | null): CranksideError {
  const found = why === null ? "closed from our side" : why.message;
  return new CranksideError("link-closed", "the line is closed", { found, where }, why ?? undefined);
}

/** Why the line went away; null when we closed it. */
export function causeOf(error: CranksideError): CranksideError | null {
  return isCranksideError(error.cause) ? error.cause : null;
}
