import { expect, test } from "vitest";
import { plain } from "../../src/cli/plain.ts";
import { textCell } from "../../src/sheet/csv.ts";

test("what a terminal would obey is shown, not sent", () => {
  expect(plain("\u001b]0;title\u0007\u001b[2J\u009b31m ok\tyes\n\r\u202e")).toBe(
    "\\u001b]0;title\\u0007\\u001b[2J\\u009b31m ok\tyes\n\\u000d\\u202e",
  );
});

test("nor does it stand in a cell of a table", () => {
  expect(textCell("ch\u001b[2Jannel\u009b")).toBe("ch\ufffd[2Jannel\ufffd");
  expect(textCell("\u001b=1")).toBe("\ufffd=1");
});
