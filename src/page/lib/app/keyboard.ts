import { keyAct, partOf, type KeyAct, type PartKey } from "./keys.ts";
import type { Page } from "./page.svelte.ts";

/** Longer than this the mark's key was held, and the mark is a stretch. */
const heldMs = 400;

/** What the space bar presses. */
const presses = "button, a, summary, input, select, [role=slider], [role=separator]";
const nextKinds = { "next-mark": "mark", "next-crank": "crank", "next-sign": "sign" } as const;

/** Puts the keys to work on the page. One instance serves the whole page. */
export class Keyboard {
  readonly #page: Page;
  #held: { readonly id: string; readonly since: number } | null = null;
  #cranking = false;

  constructor(page: Page) {
    this.#page = page;
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
    const { shown, clock } = this.#page;
    if (shown === null) return;
    const held = clock.now() - since;
    // The live end went on while a resting cursor did not: the stretch is as long as the key was down.
    if (held > heldMs)
      shown.marks.stretchTo(id, (at) => (shown.view.following ? at + held : this.#page.markTime()));
    shown.marks.name(id);
  }

  /** The window lost the keyboard: nothing stays held. */
  letGo(): void {
    if (this.#cranking) this.#crank(false);
    this.#held = null;
  }

  #do(act: KeyAct): boolean {
    const page = this.#page;
    switch (act.act) {
      case "far":
        page.far = !page.far;
        return true;
      case "help":
        page.dialog = "help";
        return true;
      case "hookup":
        page.goTo("hookup");
        return true;
      case "units":
        page.settings.change({ units: page.settings.current.units === "metric" ? "us" : "metric" });
        return true;
      case "record":
        return page.toggleRecording();
      case "crank":
        if (page.server.status.bench === null) return false;
        this.#crank(true);
        return true;
      default:
        return this.#onChart(act);
    }
  }

  #onChart(act: KeyAct): boolean {
    const { shown, screen } = this.#page;
    if (shown === null || screen !== "chart") return false;
    const { view, marks, playback } = shown;
    switch (act.act) {
      case "mark": {
        const id = marks.drop(this.#page.markTime());
        this.#held = id === null ? null : { id, since: this.#page.clock.now() };
        break;
      }
      case "interval":
        marks.interval(this.#page.markTime());
        break;
      case "whole":
        view.whole();
        break;
      case "follow":
        if (this.#page.live !== null) this.#page.backToLive();
        break;
      case "lanes":
        this.#page.dialog = "lanes";
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
        this.#page.goToNext(nextKinds[act.act], act.by);
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
        this.#page.sheet = act.sheet;
        break;
      case "compare":
        this.#page.dialog = "compare";
        break;
      case "step":
        this.#page.stepCursor(act.by);
        break;
      case "release":
        if (this.#page.far) this.#page.far = false;
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
    void this.#page.bench({ act: "key", to: on ? "crank" : "on" });
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
