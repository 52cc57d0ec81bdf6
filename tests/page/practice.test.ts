/** The case that is worked on outlives a reload, without the recording that it came with. */
import { expect, test } from "vitest";
import { Practice } from "../../src/page/lib/app/practice.svelte.ts";
import { FormKeep } from "../../src/page/lib/job/formKeep.ts";
import { fakeStorage } from "./fakeStorage.ts";

const told = { title: "Shakes", story: "Since the rain.", complaint: "shakes", knows: 77 };
const hidden = { causes: ["plug-one"] };

test("a case on a recording and one on the bench vehicle are there again, until another begins", () => {
  const box = fakeStorage();
  const page = (): Practice => new Practice(new FormKeep(() => box));
  const one = page();
  expect(one.current).toBeNull();
  const recording = { file: "a.ndjson", bytes: new Uint8Array(50_000).fill(65) };
  one.current = { from: { ...told, hidden, recording }, file: "a.ndjson" };
  expect(box.getItem("crankside-form-practice")?.length).toBeLessThan(1000);
  expect(page().current).toEqual({
    from: { ...told, hidden, recording: { file: "a.ndjson", bytes: new Uint8Array() } },
    file: "a.ndjson",
  });
  const bench = { vehicle: "hay-truck", faults: [{ name: "relay-open", severity: 1 }] };
  const onBench = { from: { ...told, hidden: { ...hidden, bench }, recording: null }, file: null };
  one.current = onBench;
  expect(page().current).toEqual(onBench);
  one.current = null;
  expect([page().current, Object.keys(box)]).toEqual([null, []]);
});

test("what cannot be read is no case", () => {
  const box = fakeStorage();
  for (const left of [{ case: "{ no JSON", file: null }, { case: "{}", file: null }, { file: null }]) {
    box.setItem("crankside-form-practice", JSON.stringify(left));
    expect(new Practice(new FormKeep(() => box)).current).toBeNull();
  }
});
