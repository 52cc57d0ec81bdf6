import type { EventSink } from "../../shared/recording/sink.ts";
import type { Exchange } from "./machine.ts";

/** An exchange as it goes into the recording, before anybody interprets it. */
export function record(exchange: Exchange, sink: EventSink | null): void {
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
