import { expect, test } from "vitest";
import { CranksideError, type ErrorContext } from "../../shared/errors.ts";
import { failureOf, failureParts } from "../../src/page/lib/app/failure.ts";

const cases: [string, ErrorContext][] = [
  ["not an address", { expected: "tcp:HOST:PORT", found: '"tcp:x"' }],
  ["the port is refused", { where: "/dev/ttyUSB0", advice: "Add yourself to the group dialout." }],
  [
    "no adapter answers",
    { expected: "ELM327 v1.5", found: "0.25 s of silence", where: "38400 baud", advice: "Is it powered?" },
  ],
  ["the recording is of a newer format", { expected: "version 1 or lower", found: "version 9" }],
  ["something else", {}],
];

test.each(cases)("%s comes apart into what it was made of", (summary, context) => {
  const { message } = new CranksideError("wrong-address", summary, context);
  expect(failureParts(message)).toEqual({
    summary,
    expected: context.expected ?? null,
    found: context.found ?? null,
    where: context.where ?? null,
    advice: context.advice ?? null,
  });
});

test("a text of any other kind stays whole", () => {
  expect(failureParts("fetch failed").summary).toBe("fetch failed");
  expect(failureOf(new TypeError("x"))).toEqual({ code: "server-failed", message: "x" });
  expect(failureOf(new CranksideError("port-busy", "busy")).code).toBe("port-busy");
});
