import { folded, reversed, type Change } from "../../../sheet/change.ts";

type Step = readonly Change[];

/** Words typed one after the other into one field are one step back. */
const stepMs = 1500;
const mostSteps = 200;

/** What was typed into a job, step by step: each can be taken back, and put there again. */
export class JobSteps {
  /** False where the changes do not fit the job; nothing is changed then. */
  readonly #add: (changes: Step) => boolean;
  #back: readonly Step[] = $state.raw([]);
  #forth: readonly Step[] = $state.raw([]);
  #last: { readonly path: string; readonly at: number } | null = null;

  constructor(add: (changes: Step) => boolean) {
    this.#add = add;
  }

  get canUndo(): boolean {
    return this.#back.length > 0;
  }

  get canRedo(): boolean {
    return this.#forth.length > 0;
  }

  /** One field, typed on or begun now. */
  type(change: Change, now: number): void {
    const path = change.path.join("/");
    const goesOn = this.#last?.path === path && now - this.#last.at < stepMs;
    this.#last = { path, at: now };
    this.do([change], goesOn);
  }

  /** Changes that belong together are one step; `goesOn`: one with the step before. */
  do(changes: Step, goesOn = false): void {
    if (!this.#add(changes)) return;
    const last = goesOn ? this.#back.at(-1) : undefined;
    const step = last === undefined ? changes : folded([...last, ...changes]);
    this.#back = [...(last === undefined ? this.#back : this.#back.slice(0, -1)), step].slice(-mostSteps);
    this.#forth = [];
  }

  undo(): void {
    const step = this.#back.at(-1);
    if (step === undefined || !this.#add(reversed(step))) return;
    this.#last = null;
    this.#back = this.#back.slice(0, -1);
    this.#forth = [...this.#forth, step];
  }

  redo(): void {
    const step = this.#forth.at(-1);
    if (step === undefined || !this.#add(reversed(reversed(step)))) return;
    this.#last = null;
    this.#forth = this.#forth.slice(0, -1);
    this.#back = [...this.#back, step];
  }

  forget(): void {
    this.#back = [];
    this.#forth = [];
    this.#last = null;
  }
}
