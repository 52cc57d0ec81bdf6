/** The option of the commands that ask a vehicle; recordings/J1979-2.md says what it turns on. */
export const unconfirmedOption = [
  "--unconfirmed",
  "on a vehicle that speaks SAE J1979-2: also the requests of which nobody could confirm how they are made",
] as const;
