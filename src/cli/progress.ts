/** One line on stderr that is written over; on anything but a terminal, nothing until it ends. */
export class Progress {
  #shown = 0;
  readonly #stream: NodeJS.WriteStream;

  constructor(stream: NodeJS.WriteStream = process.stderr) {
    this.#stream = stream;
  }

  show(text: string): void {
    if (!this.#stream.isTTY) return;
    const line = text.slice(0, (this.#stream.columns || 80) - 1);
    this.#stream.write(`\r${line.padEnd(this.#shown)}`);
    this.#shown = line.length;
  }

  /** Ends the line; `text` stays. */
  end(text: string): void {
    if (this.#stream.isTTY) this.#stream.write(`\r${" ".repeat(this.#shown)}\r`);
    this.#shown = 0;
    if (text !== "") this.#stream.write(`${text}\n`);
  }
}
