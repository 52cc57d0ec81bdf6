import { expect, test } from "vitest";
import { keyAct, keyGroups } from "../../src/page/lib/keys.ts";

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
      expect(keyAct({ ...press, shiftKey, key: asTyped[bare] ?? bare }), name).not.toBeNull();
    }
  }
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
