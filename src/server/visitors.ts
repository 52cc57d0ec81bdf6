/** The pages that are open, and which of them drives the link. */
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { Lan, Role, ServerMessage } from "../../shared/messages.ts";
import { isoWithZone } from "../recorder/names.ts";

/** One page. */
export interface Visitor {
  readonly role: Role;
  /** Sends to this page alone. */
  tell(message: ServerMessage): void;
  /** A frame of live lines. */
  send(frame: Uint8Array): void;
  /** Cuts it off. */
  sendAway(): void;
}

export interface VisitorsOptions {
  readonly clock: Clock;
  /** So long after the last page on the laptop has gone, milliseconds. */
  readonly ownerGoneMs: number;
  onOwnerGone(): void;
  /** Which other program of this machine has a job open, in words, or null. */
  otherProgramAt(job: string): string | null;
  /** The jobs that lie open on pages of the laptop are these from now on. */
  onJobs(open: ReadonlySet<string>): void;
}

/** Another program that opens a job which lies open here is heard of within this time, milliseconds. */
const lookEveryMs = 4000;

/** The door to the network, as far as the desk knows of it. */
export interface LanState {
  tellFor(visitor: Visitor): Lan;
  /** Whether guests may enter results. */
  letEnter(on: boolean): void;
  close(): Promise<void>;
}

export class Visitors {
  readonly #options: VisitorsOptions;
  /** With the wall time of their coming. */
  readonly #here = new Map<Visitor, number>();
  /** The job that lies open on a page of the laptop. */
  readonly #jobs = new Map<Visitor, string>();
  #holder: Visitor | null = null;
  /** Who else has the job of a page open, as that page was told last. */
  readonly #told = new Map<Visitor, string | null>();
  #cancelGone: (() => void) | null = null;
  #cancelLook: (() => void) | null = null;
  #closed = false;

  constructor(options: VisitorsOptions) {
    this.#options = options;
  }

  get guests(): number {
    return [...this.#here.keys()].filter(({ role }) => role === "mark").length;
  }

  come(visitor: Visitor): void {
    this.#here.set(visitor, this.#options.clock.wall());
    if (visitor.role === "full") this.#ownerIsHere();
    this.#tellYou(visitor);
  }

  /** Who held the link leaves it to the page that has been open longest. */
  go(visitor: Visitor): void {
    if (!this.#here.delete(visitor)) return;
    this.openJob(visitor, null);
    this.#told.delete(visitor);
    const [next = null] = this.#owners;
    if (this.#holder === visitor) this.#hand(next);
    if (next === null) this.#awaitOwner();
  }

  each(work: (visitor: Visitor) => void): void {
    for (const visitor of [...this.#here.keys()]) work(visitor);
  }

  tellAll(message: ServerMessage): void {
    for (const visitor of this.#here.keys()) visitor.tell(message);
  }

  sendAll(frame: Uint8Array): void {
    for (const visitor of this.#here.keys()) visitor.send(frame);
  }

  /** Throws `role-refused` for a page that came over the network. */
  mustBeFull(visitor: Visitor): void {
    if (visitor.role === "full") return;
    throw new CranksideError(
      "role-refused",
      "a device of the network reads and marks, and does nothing else",
      {
        advice: "Do this on the laptop itself.",
      },
    );
  }

  /** Throws `role-refused`, or `link-held` while another page drives the link; else this page drives it. */
  drive(visitor: Visitor): void {
    this.mustBeFull(visitor);
    if (this.#holder !== null && this.#holder !== visitor) {
      throw new CranksideError("link-held", "another page drives the adapter", {
        found: this.#nameOf(this.#holder),
        advice: "Take it over here, or close that page.",
      });
    }
    this.#hand(visitor);
  }

  /** Whoever drove it before is told. */
  take(visitor: Visitor): void {
    this.mustBeFull(visitor);
    this.#hand(visitor);
  }

  /** Who has the same job open is told, and this page of them. A device of the network only reads: it counts for nobody. */
  openJob(visitor: Visitor, job: string | null): void {
    if (visitor.role !== "full") return;
    const before = this.#jobs.get(visitor) ?? null;
    if (job === null) this.#jobs.delete(visitor);
    else this.#jobs.set(visitor, job);
    this.#options.onJobs(new Set(this.#jobs.values()));
    for (const one of this.#here.keys()) {
      const theirs = this.#jobs.get(one) ?? null;
      if (one === visitor || (theirs !== null && (theirs === before || theirs === job))) this.#tellYou(one);
    }
    this.#lookOn();
  }

  /** Nothing is connected any more. */
  letGo(): void {
    this.#hand(null);
  }

  sendGuestsAway(): void {
    for (const visitor of [...this.#here.keys()]) if (visitor.role === "mark") visitor.sendAway();
  }

  /** Nobody is waited for any more, whoever goes from now on. */
  close(): void {
    this.#closed = true;
    this.#cancelGone?.();
    this.#cancelGone = null;
    this.#cancelLook?.();
    this.#cancelLook = null;
  }

  get #owners(): Visitor[] {
    return [...this.#here.keys()].filter(({ role }) => role === "full");
  }

  #hand(holder: Visitor | null): void {
    if (this.#holder === holder) return;
    this.#holder = holder;
    for (const visitor of this.#here.keys()) this.#tellYou(visitor);
  }

  #tellYou(visitor: Visitor): void {
    const holder = this.#holder === null || this.#holder === visitor ? null : this.#nameOf(this.#holder);
    const beside = this.#beside(visitor);
    this.#told.set(visitor, beside);
    visitor.tell({ type: "you", role: visitor.role, holder, beside });
  }

  /** Other programs tell nobody of what they open: while a job lies open here, their notes are looked at. */
  #lookOn(): void {
    if (this.#closed || this.#jobs.size === 0) {
      this.#cancelLook?.();
      this.#cancelLook = null;
      return;
    }
    this.#cancelLook ??= this.#options.clock.after(lookEveryMs, () => {
      this.#cancelLook = null;
      for (const visitor of this.#jobs.keys())
        if (this.#beside(visitor) !== (this.#told.get(visitor) ?? null)) this.#tellYou(visitor);
      this.#lookOn();
    });
  }

  #beside(visitor: Visitor): string | null {
    const job = this.#jobs.get(visitor);
    if (job === undefined) return null;
    const [other] = [...this.#jobs].find(([one, its]) => one !== visitor && its === job) ?? [];
    return other === undefined ? this.#options.otherProgramAt(job) : this.#nameOf(other);
  }

  #nameOf(visitor: Visitor): string {
    const opened = isoWithZone(this.#here.get(visitor) ?? 0).slice(11, 19);
    return `the page on this laptop that was opened at ${opened}`;
  }

  #ownerIsHere(): void {
    this.#cancelGone?.();
    this.#cancelGone = null;
  }

  #awaitOwner(): void {
    if (this.#closed) return;
    const { clock, ownerGoneMs } = this.#options;
    this.#cancelGone ??= clock.after(ownerGoneMs, () => {
      this.#cancelGone = null;
      this.#options.onOwnerGone();
    });
  }
}
