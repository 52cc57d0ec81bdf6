/**
 * The third byte of a three-byte code (SAE J2012-DA, ISO 15031-6 annex): what kind of failure it is. Names paraphrased
 * from a public field table of failure types. A number that is not here is shown as such.
 */
export const failureTypes: Readonly<Record<number, string>> = {
  0x00: "no failure type given",
  0x11: "circuit short to ground",
  0x12: "circuit short to battery",
  0x13: "circuit open",
  0x14: "circuit short to ground or open",
  0x15: "circuit short to battery or open",
  0x16: "circuit voltage below its limit",
  0x17: "circuit voltage above its limit",
  0x18: "circuit current below its limit",
  0x19: "circuit current above its limit",
  0x1a: "circuit resistance below its limit",
  0x1b: "circuit resistance above its limit",
  0x1c: "circuit voltage out of range",
  0x1d: "circuit current out of range",
  0x1e: "circuit resistance out of range",
  0x1f: "circuit intermittent",
  0x21: "signal amplitude too small",
  0x22: "signal amplitude too large",
  0x23: "signal stuck low",
  0x24: "signal stuck high",
  0x26: "signal changes too slowly",
  0x27: "signal changes too fast",
  0x28: "signal off its centre",
  0x29: "signal invalid",
  0x2f: "signal erratic",
  0x31: "no signal",
};

/** Bits of the status byte, from bit 0 on. Source: ISO 14229-1 annex D.2, as open implementations have it. */
const statusBits: readonly string[] = [
  "failed now",
  "failed this cycle",
  "pending",
  "confirmed",
  "not tested since clearing",
  "failed since clearing",
  "not tested this cycle",
  "MIL requested",
];

export const pendingBit = 0x04;
export const confirmedBit = 0x08;

export function failureName(type: number): string {
  return failureTypes[type] ?? `failure type ${type.toString(16).toUpperCase().padStart(2, "0")}`;
}

export function statusWords(status: number): string[] {
  return statusBits.filter((_, bit) => (status & (1 << bit)) !== 0);
}
