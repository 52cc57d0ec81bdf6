import type { CranksideError } from "../../shared/errors.ts";
import type { SessionStatus } from "./options.ts";

/** How the link stands, and those who are told of it. */
export class Standing {
  readonly #more: () => Omit<SessionStatus, "link" | "doing" | "failure">;
  readonly #listeners = new Set<(status: SessionStatus) => void>();
  #link: SessionStatus["link"] = "connecting";
  #doing = "";
  /** Why the vehicle or the line cannot be had, as far as that is known. */
  failure: CranksideError | null = null;
  /** Why the link is lost; null while it stands. */
  lostBecause: string | null = null;

  /** `more`: what the status says beside that. */
  constructor(more: () => Omit<SessionStatus, "link" | "doing" | "failure">) {
    this.#more = more;
  }

  get link(): SessionStatus["link"] {
    return this.#link;
  }

  get status(): SessionStatus {
    const { failure } = this;
    return {
      link: this.#link,
      doing: this.#doing,
      failure: failure === null ? null : { code: failure.code, message: failure.message },
      ...this.#more(),
    };
  }

  /** Calls back with the status now and on each change; returns what ends that. */
  onStatus(listener: (status: SessionStatus) => void): () => void {
    this.#listeners.add(listener);
    listener(this.status);
    return () => this.#listeners.delete(listener);
  }

  become(link: SessionStatus["link"], doing: string): void {
    if (this.#link === link && this.#doing === doing) return;
    this.#link = link;
    this.#doing = doing;
    this.tell();
  }

  /** The same link, with other words. */
  say(doing: string): void {
    this.become(this.#link, doing);
  }

  tell(): void {
    const { status } = this;
    for (const listener of this.#listeners) listener(status);
  }
}
