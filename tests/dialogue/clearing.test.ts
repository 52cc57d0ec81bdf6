/** What it takes until service 04 leaves, asked of the one place that makes the consent, and of the dialogue. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { ClearConsent, consentToClear, type ClearEvidence } from "../../adapters/dialogue/clearing.ts";
import { Dialogue } from "../../adapters/dialogue/dialogue.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { clearSentence, keptForMs, lossesOf, notKept } from "../../shared/clearing.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { foldSurvey, type SurveyAnswer } from "../../shared/survey.ts";
import { Peer } from "../support/peer.ts";

const say = (module: string, hex: string): SurveyAnswer => ({
  module,
  data: Uint8Array.from(hex.match(/../g) ?? [], (b) => parseInt(b, 16)),
});

const readiness = say("7E8", "410182076500");
const stored = say("7E8", "430203350171");
const frame = say("7E8", "4202000335");
const kept = foldSurvey([readiness, stored, frame], true, 12.4);
const good: ClearEvidence = {
  kept,
  ageMs: 1000,
  atRest: true,
  typed: "erase P0171 P0335, the freeze frame, readiness",
};

const codeOf = (act: () => unknown): string => {
  try {
    act();
    return "given";
  } catch (error) {
    return isCranksideError(error) ? error.code : "another error";
  }
};

describe("what a person types", () => {
  test("names what will be lost", () => {
    expect(lossesOf(kept)).toEqual({ codes: ["P0171", "P0335"], frames: ["P0335"], readiness: ["7E8"] });
    expect(clearSentence(kept)).toBe(good.typed);
    expect(clearSentence(foldSurvey([readiness, say("7E8", "4300")], true, null))).toBe(
      "erase no code, readiness",
    );
  });

  test("large and small letters and blanks make no difference, anything else does", () => {
    expect(
      codeOf(() => consentToClear({ ...good, typed: "  ERASE p0171  P0335, the freeze frame, readiness " })),
    ).toBe("given");
    expect(codeOf(() => consentToClear({ ...good, typed: "yes" }))).toBe("clear-refused");
  });

  test("no other text of whatever kind is taken", () => {
    const near = fc
      .tuple(fc.nat(good.typed.length), fc.nat(3), fc.string({ maxLength: 4 }))
      .map(([at, cut, put]) => good.typed.slice(0, at) + put + good.typed.slice(at + cut));
    const plain = (t: string): string => t.trim().replace(/\s+/g, " ").toLowerCase();
    fc.assert(
      fc.property(fc.oneof(fc.string(), near), (typed) => {
        const same = plain(typed) === plain(good.typed);
        expect(codeOf(() => consentToClear({ ...good, typed }))).toBe(same ? "given" : "clear-refused");
      }),
    );
  });
});

test.each<[string, Partial<ClearEvidence>]>([
  ["nothing kept", { kept: null }],
  ["kept too long ago", { ageMs: keptForMs + 1 }],
  ["kept in the future", { ageMs: -1 }],
  ["kept nobody knows when", { ageMs: Number.NaN }],
  ["an engine that turns", { atRest: false }],
  ["no codes told", { kept: foldSurvey([readiness, frame], true, null) }],
  ["no readiness told", { kept: foldSurvey([stored, frame], true, null) }],
  ["codes without a freeze frame told", { kept: foldSurvey([stored, readiness], true, null) }],
])("%s: no consent", (_name, part) => {
  const evidence = { ...good, ...part };
  const typed = evidence.kept === null ? good.typed : clearSentence(evidence.kept);
  expect(codeOf(() => consentToClear({ ...evidence, typed }))).toBe("clear-refused");
});

test("without codes no freeze frame is asked for", () => {
  expect(notKept(foldSurvey([readiness, say("7E8", "4300")], true, null))).toBeNull();
});

test("a consent sends once; used again, or made up, it sends nothing", async () => {
  const clock = new VirtualClock();
  const peer = new Peer({ clock });
  const dialogue = new Dialogue(await peer.open(), clock);
  const consent = consentToClear(good);
  await clock.run(dialogue.clear(consent));
  expect(peer.received).toEqual(["04"]);
  for (const other of [
    consent,
    new ClearConsent(good.typed),
    Object.create(ClearConsent.prototype) as ClearConsent,
  ]) {
    const asked = dialogue.clear(other).catch((error: unknown) => error);
    await clock.run(asked);
    expect(await asked).toMatchObject({ code: "request-refused" });
  }
  expect(peer.received).toEqual(["04"]);
  await dialogue.close();
});

test("an adapter that is out of step and does not come to a prompt is not sent it", async () => {
  const clock = new VirtualClock();
  const peer = new Peer({ clock, faults: ["silence"] });
  const dialogue = new Dialogue(await peer.open(), clock);
  await clock.run(dialogue.ask("010C"));
  const cleared = dialogue.clear(consentToClear(good));
  await clock.run(cleared);
  expect((await cleared).ask).toBe("ATRV");
  expect(peer.raw.split("\r")).not.toContain("04");
  await dialogue.close();
});
