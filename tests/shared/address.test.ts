import fc from "fast-check";
import { expect, test } from "vitest";
import { addressText, parseAddress, type Address } from "../../shared/address.ts";
import { CranksideError } from "../../shared/errors.ts";

const good: readonly (readonly [text: string, address: Address])[] = [
  ["serial:/dev/ttyUSB0", { kind: "serial", path: "/dev/ttyUSB0" }],
  ["serial:/dev/ttyUSB0@38400", { kind: "serial", path: "/dev/ttyUSB0", baud: 38400 }],
  ["serial:COM3@115200", { kind: "serial", path: "COM3", baud: 115200 }],
  ["serial:/dev/odd@name", { kind: "serial", path: "/dev/odd@name" }],
  ["tcp:192.168.0.10:35000", { kind: "tcp", host: "192.168.0.10", port: 35000 }],
  ["tcp:[::1]:35000", { kind: "tcp", host: "::1", port: 35000 }],
  ["bench:cart", { kind: "bench", vehicle: "cart", faults: [] }],
  [
    "bench:cart,weak-battery=0.6,no-crank-signal",
    {
      kind: "bench",
      vehicle: "cart",
      faults: [
        { name: "weak-battery", severity: 0.6 },
        { name: "no-crank-signal", severity: 1 },
      ],
    },
  ],
];

test.each(good)("%s", (text, address) => {
  expect(parseAddress(text)).toEqual(address);
});

test("an address is typed again as it was read; of the bench vehicle the faults stay unsaid", () => {
  for (const [text, address] of good) {
    if (address.kind === "bench") expect(addressText(address)).toBe("bench:cart");
    else expect(addressText(address)).toBe(text);
  }
});

test.each([
  "",
  ":",
  "serial:",
  "tcp:",
  "bench:",
  "usb:/dev/x",
  "/dev/ttyUSB0",
  "serial:/dev/ttyUSB0@1",
  "serial:/dev/ttyUSB0@9999999",
  "tcp:host",
  "tcp:host:0",
  "tcp:host:65536",
  "tcp::35000",
  "bench:cart,",
  "bench:cart,Weak",
  "bench:cart,weak=2",
  "bench:cart,weak=-1",
  "bench:cart,weak=",
  "SERIAL:/dev/ttyUSB0",
])("%j is refused", (text) => {
  expect(() => parseAddress(text)).toThrow(expect.objectContaining({ code: "wrong-address" }));
});

test("no text makes it fail in another way", () => {
  const prefix = fc.constantFrom("", "serial:", "tcp:", "bench:");
  fc.assert(
    fc.property(prefix, fc.string({ unit: "binary", maxLength: 60 }), (start, rest) => {
      try {
        const address = parseAddress(start + rest);
        // What was taken is taken again, and means the same.
        if (address.kind !== "bench") expect(parseAddress(addressText(address))).toEqual(address);
      } catch (error) {
        expect(error).toBeInstanceOf(CranksideError);
        expect((error as CranksideError).code).toBe("wrong-address");
      }
    }),
  );
});
