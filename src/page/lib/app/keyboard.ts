import { keyAct, partOf, type KeyAct, type PartKey } from "./keys.ts";
import type { Session } from "./session.svelte.ts";

/** Longer than this the mark's key was held, and the mark is a stretch. */
const heldMs = 400;

/** What the space bar presses. */
const presses = "button, a, summary, input, select, [role=slider], [role=separator]";
const nextKinds = { "next-mark": "mark", "next-crank": "crank", "next-sign": "sign" } as const;

/** Puts the keys to work on the session. One instance serves the whole page. */
export class Keyboard {
  readonly #session: Session;
  #held: { readonly id: string; readonly since: number } | null = null;
  #cranking = false;

  constructor(session: Session) {
    this.#session = session;
  }

  down(event: KeyboardEvent): void {
    if (isTyping(event.target) || dialogIsOpen()) return;
    const act = keyAct(event);
    if (act === null) return;
    // A focused control keeps its own arrows, and the bar that presses it.
    if (act.act === "play" && event.target instanceof HTMLElement && event.target.matches(presses)) return;
    if (act.act === "pan" && event.target instanceof HTMLInputElement) return;
    if (event.repeat && act.act !== "pan" && act.act !== "zoom" && act.act !== "step") return;
    if (this.#do(act)) event.preventDefault();
  }

  up(event: KeyboardEvent): void {
    if (event.key === "c" && this.#cranking) this.#crank(false);
    if (event.key !== "m" || this.#held === null) return;
    const { id, since } = this.#held;
    this.#held = null;
    const { shown, clock } = this.#session;
    if (shown === null) return;
    const held = clock.now() - since;
    // The live end went on while a resting cursor did not: the stretch is as long as the key was down.
    if (held > heldMs)
      shown.marks.stretchTo(id, (at) => (shown.view.following ? at + held : this.#session.markTime()));
    shown.marks.name(id);
  }

  /** The window lost the keyboard: nothing stays held. */
  letGo(): void {
    if (this.#cranking) this.#crank(false);
    this.#held = null;
  }

  #do(act: KeyAct): boolean {
    const session = this.#session;
    switch (act.act) {
      case "far":
        session.far = !session.far;
        return true;
      case "help":
        session.dialog = "help";
        return true;
      case "hookup":
        session.goTo("hookup");
        return true;
      case "units":
        session.settings.change({ units: session.settings.current.units === "metric" ? "us" : "metric" });
        return true;
      case "record":
        return session.toggleRecording();
      case "crank":
        if (session.server.status.bench === null) return false;
        this.#crank(true);
        return true;
      default:
        return this.#onChart(act);
    }
  }

  #onChart(act: KeyAct): boolean {
    const { shown, screen } = this.#session;
    if (shown === null || screen !== "chart") return false;
    const { view, marks, playback } = shown;
    switch (act.act) {
      case "mark": {
        const id = marks.drop(this.#session.markTime());
        this.#held = id === null ? null : { id, since: this.#session.clock.now() };
        break;
      }
      case "interval":
        marks.interval(this.#session.markTime());
        break;
      case "whole":
        view.whole();
        break;
      case "follow":
        if (this.#session.live !== null) this.#session.backToLive();
        break;
      case "lanes":
        this.#session.dialog = "lanes";
        break;
      case "pan":
        view.pan(act.by);
        break;
      case "zoom":
        view.zoom(act.by, 0.5);
        break;
      case "next-mark":
      case "next-crank":
      case "next-sign":
        this.#session.goToNext(nextKinds[act.act], act.by);
        break;
      case "measure":
        view.measure();
        break;
      case "play":
        playback.toggle();
        break;
      case "rate":
        playback.change(act.by);
        break;
      case "sheet":
        this.#session.sheet = act.sheet;
        break;
      case "compare":
        this.#session.dialog = "compare";
        break;
      case "step":
        this.#session.stepCursor(act.by);
        break;
      case "release":
        if (this.#session.far) this.#session.far = false;
        else if (marks.openSince !== null) marks.giveUpInterval();
        else if (view.anchor !== null) view.measure();
        else view.release();
        break;
      default:
        return false;
    }
    return true;
  }

  #crank(on: boolean): void {
    this.#cranking = on;
    void this.#session.bench({ act: "key", to: on ? "crank" : "on" });
  }
}

/** The key of a part was pressed: not while words are typed or a dialog is open, and not again while it is held. */
export function pressedFor(part: PartKey, event: KeyboardEvent): boolean {
  return partOf(event) === part && !event.repeat && !isTyping(event.target) && !dialogIsOpen();
}

function isTyping(target: EventTarget | null): boolean {
  if (target instanceof HTMLInputElement) return !["radio", "checkbox", "range"].includes(target.type);
  return target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;
}

function dialogIsOpen(): boolean {
  return document.querySelector("dialog[open]") !== null;
}
