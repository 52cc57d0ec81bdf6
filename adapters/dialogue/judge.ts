/** What an exchange is worth: whether it is in step with the adapter, and the voltage that it tells. */
import { SocketVolts } from "../../shared/volts.ts";
import type { Exchange } from "./machine.ts";
import { Haste } from "./haste.ts";
import { Pace } from "./pace.ts";
import { answersOther, isNotice, isReset, lateAnswer, mayNameItself, unaskedIdentity } from "./words.ts";

/** More prompts with an empty line before them than without, for it to be expected; and most that are counted. */
const usualApart = 2;
const mostApart = 8;

export class Judge {
  readonly pace = new Pace();
  readonly #volts = new SocketVolts();
  #haste = new Haste();
  /** How usual an empty line before the prompt is with this adapter: above `usualApart` it is missed where it lacks. */
  #apart = 0;

  /** Another baud rate: what was on its way is noise, and answers take another time. */
  rateChanged(): void {
    this.pace.beganAnew();
    this.#haste = new Haste();
  }

  /** `odd`: the next command must look for the prompt first. */
  take(exchange: Exchange): { readonly judged: Exchange; readonly odd: boolean } {
    const { answer, end, err } = exchange;
    const of = this.pace.ended(exchange);
    const namesItself = err === unaskedIdentity && of !== null && mayNameItself(of);
    // The bare return that confirms another rate is answered with OK.
    const isUsual = end !== null && of === null && exchange.ask !== "";
    const misfits = isUsual && (this.#haste.take(exchange) || answersOther(exchange));
    const isLate = namesItself || misfits;
    if (misfits) this.pace.misfit(exchange);
    if (isReset(err) && !isLate) this.pace.beganAnew();
    const broken = end === null || err === "STOPPED" || answer.length === 0;
    const odd = this.#lacksEmptyLine(exchange) || broken || isLate || this.pace.owed > 0;
    // An answer to an earlier command is an answer to nobody.
    const judged = isLate ? { ...exchange, answer: [], err: lateAnswer } : exchange;
    const volts = this.#volts.take(judged);
    return { judged: volts === null ? judged : { ...judged, volts }, odd };
  }

  /** Bytes outside any exchange, with the prompts in them; true when the next command must look for the prompt first. */
  stray(text: string, prompts: number, now: number): boolean {
    for (let i = 0; i < prompts; i++) this.pace.strayPrompt(now);
    this.#volts.stray();
    return !isNotice(text);
  }

  /** A prompt at the start of a line without the empty one that this adapter puts there: it may be noise. */
  #lacksEmptyLine({ answer, returns }: Exchange): boolean {
    if (returns === undefined || answer.length === 0) return false;
    const lacks = returns < 2;
    const isOdd = lacks && this.#apart > usualApart;
    this.#apart = Math.max(-mostApart, Math.min(mostApart, this.#apart + (lacks ? -1 : 1)));
    return isOdd;
  }
}
