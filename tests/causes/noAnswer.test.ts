/** No module answers: from the sign in the recording to a path that leads to each cause of its own list. */
import { expect, test } from "vitest";
import { advise } from "../../src/interpret/causes/advice.ts";
import { complaintsOf } from "../../src/interpret/causes/complaint.ts";
import type { LogEntry } from "../../src/interpret/causes/results.ts";
import { causes } from "../../src/interpret/causes/tables/causes.ts";
import { handChecks } from "../../src/interpret/causes/tables/checks.ts";
import type { CauseRow, HandCheckRow } from "../../src/interpret/causes/types.ts";
import { findings, heard, result, sign } from "./support.ts";

const silence = heard({ signs: [sign("link.no-module", "outside"), sign("power.rest-voltage", "within")] });
const oneSilent = heard({ signs: [sign("link.one-silent", "outside")] });
const rows: readonly HandCheckRow[] = handChecks;
const causeRows: readonly CauseRow[] = causes;

test("the recording complains of it by itself", () => {
  expect(complaintsOf(findings({ signs: [sign("link.no-module", "outside")] }))).toEqual(["no-answer"]);
  expect(complaintsOf(findings({ signs: [sign("link.one-silent", "outside")] }))).toEqual(["no-answer"]);
  // An engine that is rough is rough, though a second module fell silent on the way.
  const both = [sign("link.one-silent", "outside"), sign("misfire.rough", "outside")];
  expect(complaintsOf(findings({ signs: both }))).toEqual(["rough"]);
});

test("its list is of what keeps modules silent, and it begins with what costs a minute", () => {
  const advice = advise({ complaints: ["no-answer"], heard: [silence] });
  const about = new Set(causeRows.filter((c) => c.weight["no-answer"] !== undefined).map((c) => c.id));
  for (const { id } of advice.causes) expect(about).toContain(id);
  expect(advice.next).toMatchObject({ kind: "check" });
  const next = advice.next.kind === "check" ? advice.next.check.id : "";
  expect(rows.find(({ id }) => id === next)?.minutes).toBeLessThanOrEqual(3);
});

/** What a person finds where this cause is: its likeliest outcome of each check. */
function found(check: HandCheckRow, cause: string): string {
  const told = check.outcomes.map((outcome) => {
    const often: Partial<Record<string, number>> | undefined = outcome.often;
    return { id: outcome.id, often: often === undefined ? null : (often[cause] ?? often.otherwise ?? 0) };
  });
  const rest = 1 - told.reduce((sum, outcome) => sum + (outcome.often ?? 0), 0);
  return told.map((o) => ({ ...o, often: o.often ?? rest })).sort((a, b) => b.often - a.often)[0]?.id ?? "";
}

test.each([
  "socket-feed",
  "key-position",
  "bus-open",
  "bus-shorted",
  "module-blocks-bus",
  "adapter-bad",
  "other-standard",
])("%s: doing what it says next leads to it", (cause) => {
  const log: LogEntry[] = [];
  for (let minute = 1; minute < 12; minute++) {
    const advice = advise({ complaints: ["no-answer"], heard: [silence], log });
    const [first] = advice.causes;
    if (first?.id === cause && first.standing.share >= 0.6) break;
    if (advice.next.kind !== "check") break;
    const check = rows.find(({ id }) => advice.next.kind === "check" && id === advice.next.check.id);
    if (check === undefined) throw new Error("a check without a row");
    log.push(result(check.id, found(check, cause), minute));
  }
  const advice = advise({ complaints: ["no-answer"], heard: [silence], log });
  expect(advice.causes[0]?.id).toBe(cause);
});

test("one silent module while others answer: neither the socket, nor the key, nor the adapter", () => {
  const { causes: told } = advise({ complaints: ["no-answer"], heard: [oneSilent] });
  const place = (id: string): number => told.findIndex((c) => c.id === id);
  expect(["module-supply", "module-fault", "bus-open"]).toContain(told[0]?.id);
  for (const id of ["socket-feed", "key-position", "adapter-bad", "bus-shorted", "other-standard"])
    expect(place(id) === -1 || place(id) > 4, id).toBe(true);
});

test("beside an engine that does not start it pleads for the modules' feed", () => {
  const share = (signs: ReturnType<typeof heard>[]): number =>
    advise({ complaints: ["no-start"], heard: signs }).causes.find((c) => c.id === "module-supply")?.standing
      .share ?? 0;
  expect(share([silence])).toBeGreaterThan(share([]) + 0.1);
});
