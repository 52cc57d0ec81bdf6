/** Answers that take several frames or messages, and are worth a word when only a part of them came. */

export interface BrokenAnswer {
  readonly module: string;
  /** The question, as it was sent. */
  readonly ask: string;
  readonly why: string;
}

export interface LongAnswer {
  readonly of: string;
  /** Of a module's survey. Null there: it did not come whole at another time. */
  readonly field: "stored" | "pending" | "permanent" | "vin" | "calibrations" | "verifications" | "name";
}

const byQuestion: ReadonlyMap<string, LongAnswer> = new Map<string, LongAnswer>([
  ["03", { of: "stored codes", field: "stored" }],
  ["07", { of: "pending codes", field: "pending" }],
  ["0A", { of: "permanent codes", field: "permanent" }],
  ["0902", { of: "VIN", field: "vin" }],
  ["0904", { of: "calibrations", field: "calibrations" }],
  ["0906", { of: "verification", field: "verifications" }],
  ["090A", { of: "name", field: "name" }],
]);

/** The count of replies behind a question makes no other one of it. */
export function longAnswer(ask: string): LongAnswer | undefined {
  return byQuestion.get(ask.length % 2 === 1 ? ask.slice(0, -1) : ask);
}
