import { expect, test } from "vitest";
import { keyAct, keyGroups, partKeys, partOf } from "../../src/page/lib/app/keys.ts";

const press = { shiftKey: false, ctrlKey: false, altKey: false, metaKey: false };
const asTyped: Record<string, string> = {
  "←": "ArrowLeft",
  "→": "ArrowRight",
  "−": "-",
  Esc: "Escape",
  Space: " ",
};

test("every key that the help sheet names does something", () => {
  for (const { keys } of keyGroups.flatMap((group) => group.rows)) {
    for (const name of keys) {
      const shiftKey = name.startsWith("Shift ");
      const bare = name.replace("Shift ", "").replace(" held", "");
      const typed = { ...press, shiftKey, key: asTyped[bare] ?? bare };
      expect(keyAct(typed) ?? partOf(typed), name).not.toBeNull();
    }
  }
});

test("keys that a part hears itself are on the help sheet, and mean nothing else", () => {
  const names = keyGroups.flatMap((group) => group.rows.flatMap((row) => row.keys));
  for (const key of Object.values(partKeys)) {
    expect(names).toContain(key);
    expect(keyAct({ ...press, key }), key).toBeNull();
    expect(partOf({ ...press, key, ctrlKey: true }), key).toBeNull();
  }
  expect(partOf({ ...press, key: "x" })).toBe("nextCheck");
  expect(partOf({ ...press, key: "toString" })).toBeNull();
});

test("every key that does something is named on the help sheet", () => {
  const named = new Set(
    keyGroups.flatMap((group) =>
      group.rows.flatMap((row) =>
        row.keys.map((name) => {
          const bare = name.replace(" held", "");
          const key = bare.replace("Shift ", "");
          const typed = asTyped[key] ?? key;
          return bare.startsWith("Shift ") && typed.length === 1 ? typed.toUpperCase() : typed;
        }),
      ),
    ),
  );
  const printed = Array.from({ length: 95 }, (_, i) => String.fromCharCode(32 + i));
  const others = [
    "ArrowLeft",
    "ArrowRight",
    "ArrowUp",
    "ArrowDown",
    "Escape",
    "Enter",
    "Home",
    "End",
    "PageUp",
  ];
  const bound = [...printed, ...others, "PageDown", "Backspace", "Delete", "Insert"].filter(
    (key) => keyAct({ ...press, key }) !== null,
  );
  expect(bound.length).toBeGreaterThan(20);
  expect(bound.filter((key) => !named.has(key))).toEqual([]);
});

test("no key is named twice", () => {
  const names = keyGroups.flatMap((group) => group.rows.flatMap((row) => row.keys));
  expect(new Set(names).size).toBe(names.length);
});

test("the browser's own keys are left to it", () => {
  expect(keyAct({ ...press, ctrlKey: true, key: "r" })).toBeNull();
  expect(keyAct({ ...press, metaKey: true, key: "f" })).toBeNull();
  expect(keyAct({ ...press, key: "Tab" })).toBeNull();
  expect(keyAct({ ...press, key: "toString" })).toBeNull();
});
