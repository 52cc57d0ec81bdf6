import fc from "fast-check";
import { expect, test } from "vitest";
import { commandLines, memoryPair, VirtualClock } from "../../adapters/link/index.ts";

const latin1 = (text: string): Uint8Array => Uint8Array.from(Buffer.from(text, "latin1"));

async function linesOf(
  chunks: readonly Uint8Array[],
  most?: number,
): Promise<{ lines: string[]; tooLong: number }> {
  const [person, adapter] = memoryPair("person", "adapter");
  const lines: string[] = [];
  let tooLong = 0;
  commandLines(adapter, (line) => lines.push(line), {
    ...(most === undefined ? {} : { most }),
    onTooLong: () => (tooLong += 1),
  });
  for (const chunk of chunks) await person.write(chunk);
  await new VirtualClock().pass(0);
  return { lines, tooLong };
}

test("commands are cut at the carriage return, a bare one included", async () => {
  const { lines } = await linesOf([latin1("ATZ\r01"), latin1("0C1\r"), latin1("\r\r0100\rAT")]);
  expect(lines).toEqual(["ATZ", "010C1", "", "", "0100"]);
});

test("a command that is too long is dropped by itself", async () => {
  const { lines, tooLong } = await linesOf([latin1(`AT\r${"A".repeat(12)}`), latin1("BCD\rATI\r")], 10);
  expect(lines).toEqual(["AT", "ATI"]);
  expect(tooLong).toBe(1);
  expect((await linesOf([latin1("0123456789\r")], 10)).lines).toEqual(["0123456789"]);
});

test("every chunk is told before it is cut", async () => {
  const [person, adapter] = memoryPair("person", "adapter");
  let seen = 0;
  commandLines(adapter, () => undefined, { onBytes: (bytes) => (seen += bytes.length) });
  await person.write(latin1("x"));
  expect(seen).toBe(1);
});

test("chunks do not matter", async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.uint8Array({ maxLength: 30 }), { maxLength: 12 }),
      fc.array(fc.nat({ max: 30 }), { maxLength: 20 }),
      async (commands, cuts) => {
        const stream = commands.flatMap((command) => [...command.filter((byte) => byte !== 0x0d), 0x0d]);
        const chunks: Uint8Array[] = [];
        let at = 0;
        for (const cut of [...cuts, stream.length]) {
          chunks.push(Uint8Array.from(stream.slice(at, at + cut)));
          at += cut;
        }
        const whole = await linesOf([Uint8Array.from(stream)], 20);
        const cutUp = await linesOf(chunks, 20);
        expect(cutUp).toEqual(whole);
        const wanted = commands
          .map((command) => Buffer.from(command.filter((byte) => byte !== 0x0d)).toString("latin1"))
          .filter((command) => command.length <= 20);
        expect(whole.lines).toEqual(wanted);
      },
    ),
    { numRuns: 200 },
  );
});
