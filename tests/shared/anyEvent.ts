import fc from "fast-check";
import { crankCounter, pressure } from "../support/defined.ts";
import { protocolIds } from "../../shared/protocols.ts";
import { linkStates, type RecordingEvent } from "../../shared/recording/format.ts";

/** Milliseconds in whole microseconds, as they are written. */
const time = fc.integer({ min: 0, max: 1e12 }).map((us) => us / 1000);
const delay = fc.option(fc.integer({ min: 0, max: 1e8 }).map((us) => us / 1000));
const text = fc.string({ unit: "grapheme", maxLength: 20 });
/** What comes from the line: one character a byte. */
const raw = fc.array(fc.nat(255), { maxLength: 20 }).map((bytes) => String.fromCharCode(...bytes));
const adapter = fc.record(
  { says: raw, refuses: fc.array(text, { maxLength: 3 }), baud: fc.nat(4_000_000) },
  { requiredKeys: ["says"] },
);

/** An event of any kind, with any of its optional fields. */
export const anyEvent: fc.Arbitrary<RecordingEvent> = fc.oneof(
  fc.record(
    {
      k: fc.constant("x" as const),
      t: time,
      ask: raw,
      lines: fc.array(raw, { maxLength: 4 }),
      first: delay,
      end: delay,
      err: text,
    },
    { requiredKeys: ["k", "t", "ask", "lines", "first", "end"] },
  ),
  fc.record({
    k: fc.constant("defined" as const),
    t: time,
    parameters: fc.subarray([crankCounter, pressure]),
  }),
  fc.record({ k: fc.constant("stray" as const), t: time, text: raw }),
  fc.record(
    {
      k: fc.constant("mark" as const),
      t: time,
      id: text,
      at: time,
      until: time,
      label: text,
      removed: fc.constant(true as const),
    },
    { requiredKeys: ["k", "t", "id", "at", "label"] },
  ),
  fc.record(
    {
      k: fc.constant("link" as const),
      t: time,
      state: fc.constantFrom(...linkStates),
      why: text,
      adapter,
      protocol: fc.constantFrom(...protocolIds),
      modules: fc.dictionary(fc.stringMatching(/^[0-9A-F]{2,3}$/), fc.array(fc.nat(255), { maxLength: 5 })),
    },
    { requiredKeys: ["k", "t", "state"] },
  ),
  fc.record({
    k: fc.constant("s" as const),
    t: time,
    ch: text,
    // Minus nought is written as nought.
    v: fc.option(fc.double({ noNaN: true, noDefaultInfinity: true }).map((v) => v + 0)),
    u: text,
  }),
  fc.record({
    k: fc.constant("facts" as const),
    t: time,
    facts: fc.record(
      {
        complaint: text,
        vehicle: fc.record(
          {
            name: text,
            cylinders: fc.integer({ min: 1, max: 16 }),
            fuel: fc.constantFrom("petrol" as const, "gas" as const),
          },
          { requiredKeys: [] },
        ),
      },
      { requiredKeys: [] },
    ),
  }),
  fc.record(
    { k: fc.constant("notice" as const), t: time, text, torn: fc.nat(1000) },
    { requiredKeys: ["k", "t", "text"] },
  ),
  fc.record({ k: fc.constant("end" as const), t: time, sha256: fc.stringMatching(/^[0-9a-f]{64}$/) }),
);
