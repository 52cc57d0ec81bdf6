import fc from "fast-check";
import { expect, test } from "vitest";
import { readSettings, rememberLabel, usualSettings } from "../../src/page/lib/app/settings.ts";

test("nothing stored, or something that is not ours, gives the usual settings", () => {
  for (const text of [null, "", "{", "7", "null", '"x"', "[]"])
    expect(readSettings(text)).toEqual(usualSettings);
});

test("a wrong field falls back alone, the rest is kept", () => {
  const text = JSON.stringify({ units: "us", tone: "purple", lanes: [["engine-speed"], []], span: 1e9 });
  expect(readSettings(text)).toEqual({ ...usualSettings, units: "us" });
});

test("what was stored is read again", () => {
  const settings = {
    ...usualSettings,
    units: "us",
    tone: "sunlight",
    lanes: [["engine-speed"], ["coolant", "intake-air"]],
    labels: ["fuel added"],
    span: 90,
  } as const;
  expect(readSettings(JSON.stringify(settings))).toEqual(settings);
});

test("no stored text at all breaks the page", () => {
  fc.assert(
    fc.property(fc.oneof(fc.string(), fc.json()), (text) => {
      const settings = readSettings(text);
      expect(Object.keys(settings).sort()).toEqual(Object.keys(usualSettings).sort());
    }),
  );
});

test("a prototype's fields are not settings", () => {
  expect(readSettings('{"__proto__":{"units":"us"}}')).toEqual(usualSettings);
});

test("labels are remembered latest first, without doubles and without numbered marks", () => {
  let labels: string[] = [];
  for (const label of ["a", "b", "a", "mark 12", " ", "c"]) labels = rememberLabel(labels, label);
  expect(labels).toEqual(["c", "a", "b"]);
  for (let i = 0; i < 40; i++) labels = rememberLabel(labels, `label ${i}`);
  expect(labels).toHaveLength(12);
  expect(labels[0]).toBe("label 39");
});
