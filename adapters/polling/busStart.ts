/**
 * Whether the next request may first have to start the bus: on ISO 9141-2 and ISO 14230-4 that takes up to 2.7 s (the
 * five-baud start with its idle time), and not every adapter tells of it before it is over. One that is taken for silent
 * meanwhile is interrupted, and would begin the start again and again. Pure.
 */
import { isReset, startWaits, type Exchange, type ExchangeLimits } from "../dialogue/index.ts";
import { isOnKLine, protocolByNumber } from "../../shared/protocols.ts";

export class BusStart {
  #hasStart = false;
  #open = false;

  /** Every exchange, in its order. */
  see({ ask, answer, err }: Pick<Exchange, "ask" | "answer" | "err">): void {
    const chosen = /^ATSP([0-9])$/.exec(ask)?.[1];
    if (chosen !== undefined) {
      const protocol = protocolByNumber(Number(chosen));
      this.#hasStart = protocol !== undefined && isOnKLine(protocol);
    }
    if (chosen !== undefined || isReset(err)) this.#open = false;
    else if (!ask.startsWith("AT")) this.#open = answer.some(isData);
  }

  /** More patience than usual with the next request to the vehicle, where it may need it. */
  get waits(): Partial<ExchangeLimits> {
    return this.#hasStart && !this.#open ? startWaits : {};
  }
}

/** A message of a module, with or without its header. */
function isData(line: string): boolean {
  return /^(?:[0-9A-F]{2}){3,}$/i.test(line.replace(/\s/g, ""));
}
