/** How far a proving run has come: one line on a terminal, else a line for each twentieth; told on to a parent. */
export class Progress {
  #done = 0;
  #told = 0;
  readonly #of: number;
  readonly #part: boolean;
  readonly #begun = Date.now();

  /** `part`: a parent counts. */
  constructor(of: number, part: boolean) {
    this.#of = of;
    this.#part = part;
  }

  done(): void {
    this.#done += 1;
    if (this.#part) {
      process.send?.("done");
      return;
    }
    const terminal = process.stderr.isTTY;
    if (!terminal && this.#done < this.#told + this.#of / 20) return;
    this.#told = this.#done;
    const left = ((Date.now() - this.#begun) / this.#done) * (this.#of - this.#done);
    const text = `${this.#done} of ${this.#of} recordings, about ${Math.ceil(left / 60_000)} min left`;
    process.stderr.write(terminal ? `\r${text}  ` : `${text}\n`);
  }

  end(): void {
    if (process.stderr.isTTY && !this.#part) process.stderr.write("\n");
  }
}
