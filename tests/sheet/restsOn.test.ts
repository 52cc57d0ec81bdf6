/** What the causes rest on, recording by recording, without what is on the sheet already. */
import { expect, test } from "vitest";
import { advise } from "../../src/interpret/causes/advice.ts";
import { interpret } from "../../src/interpret/index.ts";
import { notYetOn, restsOn } from "../../src/sheet/restsOn.ts";
import { saidNow } from "../../src/sheet/statement.ts";
import { benchRecording, readText } from "../support/benchRecording.ts";
import { created, jobWith, tie } from "./support.ts";

test("signs and codes that speak for or against a listed cause, cranks where it does not start, and no more", async () => {
  const faults = [{ name: "no-crank-signal", severity: 1 }];
  const text = await benchRecording({ vehicle: "garden-van", script: "crank-only", faults, survey: true });
  const findings = interpret(readText(text));
  const heard = [{ recording: tie.file, started: created, findings }];
  const advice = advise({ complaints: ["no-start"], heard });
  const [rests] = restsOn(advice, heard);
  if (rests === undefined) throw new Error("it rests on nothing");
  expect(rests).toMatchObject({ file: tie.file, modules: true });
  expect(rests.cranks).toHaveLength(3);
  const named = advice.causes
    .flatMap((c) => [...c.for, ...c.against])
    .filter((e) => e.source === "sign")
    // How far starting got is told by the cranks.
    .filter((e) => e.of !== "start");
  expect(new Set(rests.signs.map((s) => s.key))).toEqual(new Set(named.map((e) => e.of)));
  expect(rests.signs.length).toBeGreaterThan(0);

  const [sign] = rests.signs;
  const [crank] = rests.cranks;
  const entry = { order: 1, section: "signs", tie, words: "" };
  const job = jobWith({
    entries: {
      a: { ...entry, says: { kind: "sign", sign } },
      b: { ...entry, says: { kind: "crank", crank } },
      // Taken off again: it is not on the sheet.
      c: { ...entry, removed: true, says: { kind: "modules", modules: [] } },
    },
  });
  const left = notYetOn(job, rests);
  expect(left.signs).toEqual(rests.signs.slice(1));
  expect(left.cranks).toEqual(rests.cranks.slice(1));
  expect(left.modules).toBe(true);
  const wiggle = {
    ...{ markId: "plug", label: "crank sensor's plug wiggled", during: { from: 0, to: 9000 }, seconds: 9 },
    ...{ drops: [{ t: 4000, kinds: ["zero" as const], channels: ["engine-speed"] }], before: 0, beforeS: 60 },
    ...{
      chance: 0.001,
      watched: ["engine-speed"],
      rate: 20,
      says: "comes-with-it" as const,
      words: "1 drop-out.",
    },
  };
  const moved = { ...rests, wiggles: [wiggle] };
  expect(notYetOn(job, moved).wiggles).toEqual([wiggle]);
  const says = { kind: "wiggle", wiggle } as const;
  expect(notYetOn(jobWith({ entries: { a: { ...entry, says } } }), moved).wiggles).toEqual([]);
  expect(saidNow(says).metric).toMatchObject({
    title: wiggle.label,
    generated: wiggle.words,
    figures: ["0:04.0: engine speed to zero"],
  });
  expect(notYetOn(job, { ...rests, file: "another.ndjson" }).signs).toEqual(rests.signs);
}, 180_000);
