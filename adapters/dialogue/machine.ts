/**
 * One command out, one reply in, up to the prompt: as a pure state machine. Times come in as values of one
 * monotonic clock, in milliseconds; whoever drives it sets a timer for `dueMs` and says `timeout` when it rings.
 * How the bytes were cut into chunks makes no difference to what comes out.
 */
import { behindEcho, errorWord, isReset, isWorking } from "./words.ts";

export interface ExchangeLimits {
  /** Wait for the next byte. */
  readonly silenceMs: number;
  /** Wait for the next byte while the adapter says that it is still at work (SEARCHING, BUS INIT). */
  readonly workingMs: number;
  /** The whole exchange, however busily bytes arrive. */
  readonly wholeMs: number;
  /** Characters; what comes after them belongs to no exchange. */
  readonly characters: number;
  /** Wait for the next byte once unreadable ones came, on a line whose other side may have changed its rate. */
  readonly garbledMs?: number;
  /** The exchange is over with so many whole lines of answer, without a prompt. */
  readonly lines?: number;
}

/** One command and all that came back, before anybody made sense of it. */
export interface Exchange {
  /** Without its carriage return. */
  readonly ask: string;
  /** When the command was handed to the line. */
  readonly sentMs: number;
  /** As they came, one character a byte (Latin-1), the echo included; empty lines, NULs and the prompt are left out. */
  readonly lines: readonly string[];
  /** The lines without the echo. */
  readonly answer: readonly string[];
  /** From sending to the first byte of the answer; null when none came. */
  readonly first: number | null;
  /** From sending to the prompt; null when none came. */
  readonly end: number | null;
  /**
   * The adapter's error word, or `silent` (nothing came), `cut` (no prompt), `closed` (the line went away), `late` (the
   * answer to an earlier command).
   */
  readonly err?: string;
  /** Carriage returns right before the prompt, where one came: two where an empty line stands there, as mostly. */
  readonly returns?: number;
  /** The supply voltage in volts, where this exchange tells it and it is believed. Not recorded: it is read anew. */
  readonly volts?: number;
}

export type State =
  | { readonly at: "resting" }
  | {
      readonly at: "asking";
      readonly ask: string;
      readonly sentMs: number;
      readonly limits: ExchangeLimits;
      readonly lines: readonly string[];
      /** The line that has not ended yet. */
      readonly text: string;
      /** Carriage returns since the last character that was none. */
      readonly returns: number;
      /** Characters so far. */
      readonly size: number;
      readonly echoed: boolean;
      readonly firstMs: number | null;
      /** When waiting ends, unless more comes. */
      readonly dueMs: number;
    };

export type Input =
  | { readonly kind: "sent"; readonly now: number; readonly ask: string; readonly limits: ExchangeLimits }
  | { readonly kind: "bytes"; readonly now: number; readonly bytes: Uint8Array }
  | { readonly kind: "timeout"; readonly now: number }
  | { readonly kind: "closed"; readonly now: number };

export interface Step {
  readonly state: State;
  readonly ended: Exchange | null;
  /** What belongs to no exchange, as it came but for NULs. */
  readonly stray: string;
}

type Asking = Extract<State, { at: "asking" }>;

export const resting: State = { at: "resting" };

/** Counts only where a line begins: one in the middle of a line is noise, and the adapter is still at work. */
const prompt = ">";
/** Behind such a one, for the next byte: it may have been the prompt, and its line end was lost. */
const strayPromptMs = 200;
/** Bytes made into text at once: a function takes only so many arguments. */
const atOnce = 4096;
/** What no adapter of this class says. */
const unreadable = /[^\r\n\t -~]/;

/** Sending while an exchange runs is a mistake of the caller and throws a RangeError. */
export function step(state: State, input: Input): Step {
  switch (state.at) {
    case "resting":
      return whileResting(input);
    case "asking":
      return whileAsking(state, input);
  }
}

function whileResting(input: Input): Step {
  switch (input.kind) {
    case "sent":
      return { state: begin(input), ended: null, stray: "" };
    case "bytes":
      return { state: resting, ended: null, stray: textOf(input.bytes) };
    case "timeout":
    case "closed":
      return { state: resting, ended: null, stray: "" };
  }
}

function whileAsking(state: Asking, input: Input): Step {
  switch (input.kind) {
    case "sent":
      throw new RangeError("one exchange at a time");
    case "bytes":
      return take(state, textOf(input.bytes), input.now);
    case "timeout":
      if (input.now < state.dueMs) return { state, ended: null, stray: "" };
      return finish(state, state.size === 0 ? "silent" : "cut");
    case "closed":
      return finish(state, "closed");
  }
}

function begin(input: Extract<Input, { kind: "sent" }>): Asking {
  const { ask, now, limits } = input;
  return {
    at: "asking",
    ask,
    sentMs: now,
    limits,
    lines: [],
    text: "",
    returns: 0,
    size: 0,
    echoed: false,
    firstMs: null,
    dueMs: now + Math.min(limits.silenceMs, limits.wholeMs),
  };
}

function take(state: Asking, chunk: string, now: number): Step {
  if (chunk === "") return { state, ended: null, stray: "" };
  const room = state.limits.characters - state.size;
  const ending = promptIn(chunk.slice(0, room), state.text === "");
  const mine = ending < 0 ? chunk.slice(0, room) : chunk.slice(0, ending);
  const next = extend(state, mine, now);
  if (ending >= 0) {
    const firstMs = next.firstMs ?? now;
    const { state: rested, ended } = finish({ ...next, firstMs }, null, now);
    const { returns } = next;
    return { state: rested, ended: ended && { ...ended, returns }, stray: chunk.slice(ending + 1) };
  }
  const { lines: enough = Number.POSITIVE_INFINITY } = state.limits;
  if (next.lines.length - (next.echoed ? 1 : 0) >= enough) return { ...finish(next, null, now), stray: "" };
  if (next.size >= state.limits.characters) return { ...finish(next, "cut"), stray: chunk.slice(room) };
  return { state: next, ended: null, stray: "" };
}

/** The place of the prompt in a chunk, or -1. `atStart`: the chunk begins at the start of a line. */
function promptIn(chunk: string, atStart: boolean): number {
  for (let at = chunk.indexOf(prompt); at >= 0; at = chunk.indexOf(prompt, at + 1)) {
    const before = chunk[at - 1];
    if (before === undefined ? atStart : before === "\r" || before === "\n") return at;
  }
  return -1;
}

function returnsAt(end: string, before: number): number {
  let count = 0;
  for (let at = end.length - 1; at >= 0; at--) {
    if (end[at] === "\r") count += 1;
    else if (end[at] !== "\n") return count;
  }
  return before + count;
}

/** Adds characters that hold no prompt. */
function extend(state: Asking, characters: string, now: number): Asking {
  const pieces = characters.includes("\n") ? characters.split(/[\r\n]/) : characters.split("\r");
  pieces[0] = state.text + (pieces[0] ?? "");
  const text = pieces.pop() ?? "";
  const fresh = pieces.filter((line) => line !== "");
  let { echoed, firstMs } = state;
  let begun = fresh.length > 0 || text !== "";
  if (!echoed && state.lines.length === 0 && isEcho(fresh[0], state.ask)) {
    echoed = true;
    firstMs = null;
    begun = fresh.length > 1 || text !== "";
  }
  const lines = fresh.length === 0 ? state.lines : [...state.lines, ...fresh];
  const { limits } = state;
  const waitMs = text.includes(prompt)
    ? Math.min(strayPromptMs, limits.silenceMs)
    : isWorking(text === "" ? (lines.at(-1) ?? "") : text)
      ? limits.workingMs
      : limits.silenceMs;
  const patience = limits.garbledMs !== undefined && unreadable.test(characters) ? limits.garbledMs : waitMs;
  return {
    ...state,
    lines,
    text,
    returns: returnsAt(characters, state.returns),
    size: state.size + characters.length,
    echoed,
    firstMs: firstMs ?? (begun ? now : null),
    dueMs: Math.min(now + patience, state.sentMs + limits.wholeMs),
  };
}

function isEcho(line: string | undefined, ask: string): boolean {
  return line !== undefined && ask !== "" && line.trim().toUpperCase() === ask;
}

/** `failure` null: the prompt came at `now`. */
function finish(state: Asking, failure: string | null, now = 0): Step {
  const lines = state.text === "" ? state.lines : [...state.lines, state.text];
  const echoed = state.echoed || (state.lines.length === 0 && isEcho(state.text, state.ask));
  const behind = echoed ? null : behindEcho(state.ask, lines[0] ?? "");
  const answer = [
    ...(behind === null ? [] : [behind]),
    ...(echoed || behind !== null ? lines.slice(1) : lines),
  ];
  const word = errorWord(state.ask, answer);
  // A reset tells more than the prompt that it kept from coming.
  const err = failure === null || (failure !== "closed" && isReset(word ?? undefined)) ? word : failure;
  const ended: Exchange = {
    ask: state.ask,
    sentMs: state.sentMs,
    lines,
    answer,
    first: state.firstMs === null ? null : state.firstMs - state.sentMs,
    end: failure === null ? now - state.sentMs : null,
    ...(err === null ? {} : { err }),
  };
  return { state: resting, ended, stray: "" };
}

/** One character a byte (Latin-1), so that nothing is replaced. NULs mean nothing on these lines and are left out. */
function textOf(bytes: Uint8Array): string {
  const meant = bytes.includes(0) ? bytes.filter((byte) => byte !== 0) : bytes;
  let text = "";
  for (let at = 0; at < meant.length; at += atOnce)
    text += String.fromCharCode(...meant.subarray(at, at + atOnce));
  return text;
}

export function bytesOf(text: string): Uint8Array {
  const bytes = new Uint8Array(text.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = text.charCodeAt(i) & 0xff;
  return bytes;
}
