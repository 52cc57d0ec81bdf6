import type { MarkEvent } from "../../../../shared/recording/format.ts";
import { z } from "zod/mini";
import { formKeep, type FormKeep } from "../job/formKeep.ts";
import type { MarkKeep } from "./markKeep.ts";
import { mergeMarks, type Mark, type Unsaved } from "./markList.ts";
import { mayPass } from "../app/failure.ts";
import type { Answer } from "../connection/server.svelte.ts";

export type { Mark };

/** A stretch that was begun and not ended. */
const openSchema = z.object({ id: z.string(), at: z.number() });
/** A label that was typed and not kept. */
const labelSchema = z.object({ id: z.string(), text: z.string() });

export interface MarkPlace {
  readonly recording: {
    readonly file: string;
    /** A sample that ships with the program, and is read only. */
    readonly bundled: boolean;
    readonly reading: { readonly marks: readonly MarkEvent[] };
  };
  save(mark: Mark & { readonly removed?: true }): Promise<Answer>;
}

/** Labels for what is commonly done at an engine, ready to be picked. */
export const readyLabels: readonly string[] = [
  "fuel added at the intake",
  "starting fluid sprayed",
  "throttle opened",
  "cylinder 1 unplugged",
  "cylinder 2 unplugged",
  "cylinder 3 unplugged",
  "cylinder 4 unplugged",
  "cylinder 5 unplugged",
  "cylinder 6 unplugged",
  "cylinder 7 unplugged",
  "cylinder 8 unplugged",
  "relay swapped",
  "fuse looked at",
  "plug and wiring wiggled",
  "hose clamped off",
  "jump pack on",
  "battery charged",
  "earth lead added",
];

/** The marks of the recording that is shown: dropped at once, named afterwards. */
export class Marks {
  readonly #place: MarkPlace;
  readonly #keep: MarkKeep;
  readonly #say: (text: string) => void;
  readonly #forms: Pick<FormKeep, "read" | "write">;
  /** Nothing can be kept beside the page. */
  #careless = $state(false);
  /** Marks whose keeping is not confirmed yet, one an id. */
  #unsaved: readonly Unsaved[] = $state.raw([]);
  /** Those of them whose keeping failed for a reason that passes. */
  #waiting: readonly Unsaved[] = [];
  #naming: string | null = $state(null);
  #openSince: { readonly id: string; readonly at: number } | null = $state.raw(null);
  readonly #all: readonly Mark[] = $derived.by(() =>
    mergeMarks(this.#place.recording.reading.marks, this.#unsaved),
  );

  /** What a page that is gone left of this recording is there again, and kept with the next try. */
  constructor(
    place: MarkPlace,
    keep: MarkKeep,
    say: (text: string) => void,
    forms: Pick<FormKeep, "read" | "write"> = formKeep,
  ) {
    this.#place = place;
    this.#forms = forms;
    this.#keep = keep;
    this.#say = say;
    if (this.readOnly) return;
    this.#unsaved = keep.read(this.#place.recording.file);
    this.#waiting = this.#unsaved;
    this.#openSince = this.#forms.read(this.#openName, openSchema);
    this.#naming = this.#forms.read(this.#labelName, labelSchema)?.id ?? null;
  }

  get #openName(): string {
    return `stretch/${this.#place.recording.file}`;
  }

  get #labelName(): string {
    return `label/${this.#place.recording.file}`;
  }

  /** What was typed as the label of this mark and not kept yet; null for nothing. */
  typedLabel(id: string): string | null {
    const typed = this.#forms.read(this.#labelName, labelSchema);
    return typed?.id === id ? typed.text : null;
  }

  /** Typed so far; a reload loses no letter of it. */
  typeLabel(id: string, text: string): void {
    this.#forms.write(this.#labelName, { id, text });
  }

  #stopTyping(): void {
    this.#naming = null;
    this.#forms.write(this.#labelName, null);
  }

  /** Closing the page now would lose marks. */
  get wouldLose(): boolean {
    return this.#careless && this.#unsaved.length > 0;
  }

  get all(): readonly Mark[] {
    return this.#all;
  }

  /** The mark that is being named. */
  get naming(): Mark | null {
    return this.#all.find((m) => m.id === this.#naming) ?? null;
  }

  /** Beginning of an interval that is still open. */
  get openSince(): number | null {
    return this.#openSince?.at ?? null;
  }

  get readOnly(): boolean {
    return this.#place.recording.bundled;
  }

  /** Drops a mark on an instant. Returns its id, or null where marks cannot be kept. */
  drop(at: number): string | null {
    if (this.#refused()) return null;
    const mark: Mark = { id: newId(), at: roundedTime(at), label: this.#nextName() };
    void this.#save(mark);
    return mark.id;
  }

  /** First call: an interval begins. Second call: it ends, and is named. */
  interval(at: number): void {
    if (this.#refused()) return;
    const open = this.#openSince;
    if (open === null) {
      this.#openSince = { id: newId(), at: roundedTime(at) };
      this.#forms.write(this.#openName, this.#openSince);
      return;
    }
    this.giveUpInterval();
    this.#keepInterval(open.id, open.at, at);
  }

  /** Makes a dropped mark an interval: its key was held until now. `end` tells when that is, from where it began. */
  stretchTo(id: string, end: (at: number) => number): void {
    const mark = this.#all.find((m) => m.id === id);
    if (mark !== undefined) this.#keepInterval(id, mark.at, end(mark.at), mark.label);
  }

  name(id: string): void {
    this.#naming = id;
  }

  /** Ends the naming; an empty text keeps the label as it is. */
  keepName(id: string, label: string): void {
    this.#stopTyping();
    const mark = this.#all.find((m) => m.id === id);
    const text = label.trim().slice(0, 400);
    if (mark !== undefined && text !== "" && text !== mark.label) void this.#save({ ...mark, label: text });
  }

  stopNaming(): void {
    this.#stopTyping();
  }

  giveUpInterval(): void {
    this.#openSince = null;
    this.#forms.write(this.#openName, null);
  }

  remove(id: string): void {
    if (this.#naming === id) this.#stopTyping();
    const mark = this.#all.find((m) => m.id === id);
    if (mark !== undefined && !this.#refused()) void this.#save({ ...mark, removed: true });
  }

  /** Tries again to keep what could not be kept. */
  retry(): void {
    for (const mark of this.#waiting) void this.#save(mark);
  }

  #keepInterval(id: string, from: number, to: number, label = this.#nextName()): void {
    const at = roundedTime(Math.min(from, to));
    const until = roundedTime(Math.max(from, to));
    this.#naming = id;
    void this.#save(until > at ? { id, at, until, label } : { id, at, label });
  }

  #nextName(): string {
    const numbers = this.#all.map((m) => Number(/^mark (\d+)$/.exec(m.label)?.[1] ?? 0));
    return `mark ${Math.max(0, ...numbers) + 1}`;
  }

  #refused(): boolean {
    if (this.readOnly)
      this.#say("A sample that ships with the program is read only: no marks are kept in it.");
    return this.readOnly;
  }

  async #save(mark: Unsaved): Promise<void> {
    this.#unsaved = [...this.#unsaved.filter((m) => m.id !== mark.id), mark];
    this.#careless = !this.#keep.write(this.#place.recording.file, mark);
    const { id, at, until, label, removed } = mark;
    const answer = await this.#place.save({
      id,
      at,
      label,
      ...(until === undefined ? {} : { until }),
      ...(removed === undefined ? {} : { removed }),
    });
    if (!answer.ok && mayPass(answer.failure)) {
      if (!this.#waiting.includes(mark)) this.#say(`The mark is not kept yet: ${answer.failure.message}`);
      if (this.#unsaved.includes(mark))
        this.#waiting = [...this.#waiting.filter((m) => m.id !== mark.id), mark];
      return;
    }
    this.#waiting = this.#waiting.filter((m) => m.id !== mark.id);
    if (!answer.ok) this.#say(`The mark was not kept: ${answer.failure.message}`);
    // A later change of the same mark is a thing of its own, and stays until it is kept too.
    this.#unsaved = this.#unsaved.filter((m) => m !== mark);
    if (this.#unsaved.every((m) => m.id !== mark.id)) this.#keep.remove(this.#place.recording.file, mark.id);
  }
}

function newId(): string {
  return [...crypto.getRandomValues(new Uint8Array(6))].map((b) => b.toString(16).padStart(2, "0")).join("");
}

function roundedTime(ms: number): number {
  return Math.max(0, Math.round(ms));
}
