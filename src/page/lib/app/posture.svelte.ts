import type { Clock } from "../../../../shared/clock.ts";
import type { Regime } from "../../../../shared/ranges.ts";
import { pressedFor } from "./keyboard.ts";
import {
  engineOf,
  followEngine,
  restPosture,
  turnPosture,
  type Posture,
  type PostureState,
} from "./posture.ts";

/** A hand that was on the page so lately is still there. */
const handMs = 2500;
const beatMs = 250;
/** What drives the bench vehicle stands for the key of a real one: that hand is at the engine. */
const atTheKey = ".bar";

/** Which of its two postures the page has. It looks at the engine by itself while it is on the screen. */
export class PostureWatch {
  #state: PostureState = $state.raw(restPosture);
  readonly #clock: Clock;
  readonly #regime: () => Regime | null;
  #handAt = Number.NEGATIVE_INFINITY;
  #holds = false;
  #stop: (() => void) | null = null;

  /** `regime`: what the engine does now; null where none is listened to. */
  constructor(clock: Clock, regime: () => Regime | null) {
    this.#clock = clock;
    this.#regime = regime;
  }

  get now(): Posture {
    return this.#state.posture;
  }

  turn = (): void => {
    this.#state = turnPosture(this.#state);
  };

  /** Another recording begins at rest. */
  begin(): void {
    this.#state = restPosture;
  }

  /** To be attached to the page; returns what lets go. */
  readonly watch = (element: HTMLElement): (() => void) => {
    const far = (event: Event): boolean =>
      event.target instanceof Element && event.target.closest(atTheKey) !== null;
    const touched = (event: Event): void => {
      if (!far(event)) this.#handAt = this.#clock.now();
    };
    const pressed = (event: Event): void => {
      touched(event);
      this.#holds = !far(event);
    };
    const letGo = (): void => {
      this.#holds = false;
    };
    const key = (event: KeyboardEvent): void => {
      if (pressedFor("posture", event)) this.turn();
    };
    const typed = (event: Event): void => touched(event);
    const off = new AbortController();
    const { signal } = off;
    element.addEventListener("pointerdown", pressed, { signal });
    for (const name of ["input", "wheel", "focusin"])
      element.addEventListener(name, typed, { passive: true, signal });
    for (const name of ["pointerup", "pointercancel"]) window.addEventListener(name, letGo, { signal });
    window.addEventListener("keydown", key, { signal });
    this.#beat();
    return () => {
      this.#stop?.();
      off.abort();
    };
  };

  #beat(): void {
    this.#stop = this.#clock.after(beatMs, () => {
      const t = this.#clock.now();
      const busy =
        this.#holds || t - this.#handAt < handMs || document.querySelector("dialog[open]") !== null;
      const next = followEngine(this.#state, { t, engine: engineOf(this.#regime()), busy });
      if (next !== this.#state) this.#state = next;
      this.#beat();
    });
  }
}
