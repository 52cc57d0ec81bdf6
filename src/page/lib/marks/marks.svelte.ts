import type { MarkEvent } from "../../../../shared/recording/format.ts";
import { z } from "zod/mini";
import { formKeep, type FormKeep } from "../job/formKeep.ts";
import { newId } from "../app/newId.ts";
import type { Outbox } from "../app/outbox.svelte.ts";
import { markKey } from "./markKeep.ts";
import { mergeMarks, unsaved, type Mark, type Unsaved } from "./markList.ts";

export type { Mark };

/** A stretch that was begun and not ended. */
const openSchema = z.object({ id: z.string(), at: z.number() });
/** A label that was typed and not kept. */
const labelSchema = z.object({ id: z.string(), text: z.string() });

/** What marks need of the recording that they stand in. */
export interface MarkPlace {
  readonly file: string;
  /** A sample that ships with the program, and is read only. */
  readonly bundled: boolean;
  readonly reading: { readonly marks: readonly MarkEvent[] };
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
  readonly #outbox: Outbox<Unsaved>;
  readonly #say: (text: string) => void;
  readonly #forms: Pick<FormKeep, "read" | "write">;
  #naming: string | null = $state(null);
  /** The mark of a harness that is being moved. */
  #moving: string | null = $state(null);
  #openSince: { readonly id: string; readonly at: number } | null = $state.raw(null);
  readonly #all: readonly Mark[] = $derived.by(() =>
    mergeMarks(this.#place.reading.marks, this.#outbox.all(markKey(this.#place.file, ""))),
  );

  /** What a page that is gone left of this recording is there again, and kept with the next try. */
  constructor(
    place: MarkPlace,
    outbox: Outbox<Unsaved>,
    say: (text: string) => void,
    forms: Pick<FormKeep, "read" | "write"> = formKeep,
  ) {
    this.#place = place;
    this.#outbox = outbox;
    this.#say = say;
    this.#forms = forms;
    if (this.readOnly) return;
    outbox.bringAll(markKey(place.file, ""));
    this.#openSince = this.#forms.read(this.#openName, openSchema);
    this.#moving = this.#forms.read(this.#movingName, openSchema)?.id ?? null;
    this.#naming = this.#forms.read(this.#labelName, labelSchema)?.id ?? null;
  }

  get #openName(): string {
    return `stretch/${this.#place.file}`;
  }

  get #movingName(): string {
    return `moving/${this.#place.file}`;
  }

  get #labelName(): string {
    return `label/${this.#place.file}`;
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
    return this.#outbox.wouldLose;
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
    return this.#place.bundled;
  }

  /** Drops a mark on an instant. Returns its id, or null where marks cannot be kept. */
  drop(at: number): string | null {
    if (this.#refused()) return null;
    const mark: Mark = { id: newId(), at: roundedTime(at), label: this.#nextName() };
    this.#save(mark);
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

  /** The harness that is moved now; null where none is. */
  get moving(): Mark | null {
    return this.#all.find((m) => m.id === this.#moving) ?? null;
  }

  /** A harness begins to be moved, under this label. */
  beginMoving(label: string, at: number): void {
    const id = this.drop(at);
    if (id === null) return;
    this.keepName(id, label);
    this.#moving = id;
    this.#forms.write(this.#movingName, { id, at });
  }

  endMoving(at: number): void {
    const { moving } = this;
    this.#moving = null;
    this.#forms.write(this.#movingName, null);
    if (moving === null) return;
    this.stretchTo(moving.id, () => at);
    this.stopNaming();
  }

  name(id: string): void {
    this.#naming = id;
  }

  /** Ends the naming; an empty text keeps the label as it is. */
  keepName(id: string, label: string): void {
    this.#stopTyping();
    const mark = this.#all.find((m) => m.id === id);
    const text = label.trim().slice(0, 400);
    if (mark !== undefined && text !== "" && text !== mark.label) this.#save({ ...mark, label: text });
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
    if (mark !== undefined && !this.#refused()) this.#save({ ...mark, removed: true });
  }

  #keepInterval(id: string, from: number, to: number, label = this.#nextName()): void {
    const at = roundedTime(Math.min(from, to));
    const until = roundedTime(Math.max(from, to));
    this.#naming = id;
    this.#save(until > at ? { id, at, until, label } : { id, at, label });
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

  #save(mark: Unsaved): void {
    this.#outbox.put(markKey(this.#place.file, mark.id), unsaved(mark));
  }
}

function roundedTime(ms: number): number {
  return Math.max(0, Math.round(ms));
}
