/** Waits and limits of one dialogue. Milliseconds unless said otherwise. */
export interface DialogueOptions {
  /** For the next byte of an answer. Default 1500, from 50 to 60000. */
  readonly silenceMs: number;
  /** For the next byte while the adapter says that it is at work on the bus. Default 12000, from 1000 to 60000. */
  readonly workingMs: number;
  /** For one whole exchange. Default 30000, from 1000 to 120000. */
  readonly wholeMs: number;
  /** Characters of one answer. Default 16384, from 256 to 1048576. */
  readonly characters: number;
  /** For the prompt when the dialogue is out of step and calls for it. Default 500, from 20 to 5000. */
  readonly wakeMs: number;
  /** Quiet that shows that nothing late is on its way any more. Default 40, from 5 to 1000. */
  readonly settleMs: number;
  /** Stray bytes that follow each other this closely are one event. Default 20, from 1 to 1000. */
  readonly strayMs: number;
}

export const dialogueDefaults: DialogueOptions = {
  silenceMs: 1500,
  workingMs: 12_000,
  wholeMs: 30_000,
  characters: 16_384,
  wakeMs: 500,
  settleMs: 40,
  strayMs: 20,
};
