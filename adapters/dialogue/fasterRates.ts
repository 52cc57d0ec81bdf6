/** The rates that a serial adapter may be asked for: what the allow-list and the change of the rate both know. */
export interface FasterRate {
  readonly baud: number;
  /** Two hexadecimal digits; 4,000,000 divided by it is within 2.1 % of `baud`. */
  readonly divisor: string;
}

/** The fastest first. */
export const fasterRates: readonly FasterRate[] = [
  { baud: 500_000, divisor: "08" },
  { baud: 230_400, divisor: "11" },
  { baud: 115_200, divisor: "23" },
];

/** How long the adapter waits for the carriage return: 28 steps of 5 ms, so that a busy laptop is in time. */
export const rateWait = "ATBRT1C";
export const rateWaitMs = 140;
