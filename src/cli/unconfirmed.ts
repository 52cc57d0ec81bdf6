/** The option of the commands that ask a vehicle; recordings/J1979-2.md says what it turns on. */
export const unconfirmedOption = [
  "--unconfirmed",
  "on a vehicle that speaks SAE J1979-2: also send requests whose form is not confirmed",
] as const;
