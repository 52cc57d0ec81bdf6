import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  bytesOf,
  resting,
  step,
  type Exchange,
  type ExchangeLimits,
  type State,
} from "../../adapters/dialogue/machine.ts";

const limits: ExchangeLimits = { silenceMs: 1000, workingMs: 9000, wholeMs: 20_000, characters: 400 };

/** Recorded dialogues, invented: what a command was answered with, byte for byte. */
const dialogues: readonly {
  name: string;
  ask: string;
  came: string;
  answer: string[];
  err?: string;
  stray?: string;
}[] = [
  { name: "plain", ask: "010C1", came: "7E804410C1AF8\r\r>", answer: ["7E804410C1AF8"] },
  {
    name: "linefeeds and spaces stay on",
    ask: "010C1",
    came: "7E8 04 41 0C 1A F8 \r\n\r\n>",
    answer: ["7E8 04 41 0C 1A F8 "],
  },
  { name: "echo stays on", ask: "ATI", came: "ATI\rELM327 v1.5\r\r>", answer: ["ELM327 v1.5"] },
  {
    name: "echo with linefeeds",
    ask: "0100",
    came: "0100\r\n48 6B 10 41 00 BE 3F E8 13 DA\r\n\r\n>",
    answer: ["48 6B 10 41 00 BE 3F E8 13 DA"],
  },
  { name: "NULs between", ask: "ATRV", came: "\0" + "12\0.4V\r\0\r>", answer: ["12.4V"] },
  { name: "no data", ask: "0105", came: "NO DATA\r\r>", answer: ["NO DATA"], err: "NO DATA" },
  {
    name: "search",
    ask: "0100",
    came: "SEARCHING...\r7E8064100BE3FE813\r\r>",
    answer: ["SEARCHING...", "7E8064100BE3FE813"],
  },
  {
    name: "search in vain",
    ask: "0100",
    came: "SEARCHING...\rUNABLE TO CONNECT\r\r>",
    answer: ["SEARCHING...", "UNABLE TO CONNECT"],
    err: "UNABLE TO CONNECT",
  },
  {
    name: "start sequence failed",
    ask: "0100",
    came: "BUS INIT: ...ERROR\r\r>",
    answer: ["BUS INIT: ...ERROR"],
    err: "BUS INIT: ...ERROR",
  },
  {
    name: "reset in the middle",
    ask: "010C1",
    came: "486B10\rLV RESET\r\r\rELM327 v1.5\r\r>",
    answer: ["486B10", "LV RESET", "ELM327 v1.5"],
    err: "LV RESET",
  },
  {
    name: "identity in the middle",
    ask: "010C1",
    came: "48\r\r\rELM327 v1.5\r\r>",
    answer: ["48", "ELM327 v1.5"],
    err: "reset",
  },
  { name: "identity asked for", ask: "ATZ", came: "\r\rELM327 v2.1\r\r>", answer: ["ELM327 v2.1"] },
  { name: "not understood", ask: "ATAT1", came: "?\r\r>", answer: ["?"], err: "?" },
  {
    name: "damaged line",
    ask: "010C",
    came: "48 6B 10 41 0C <DATA ERROR\r\r>",
    answer: ["48 6B 10 41 0C <DATA ERROR"],
  },
  {
    name: "a sign of more than in the middle of a line",
    ask: "ATRV",
    came: "1>2.6V\r\r>",
    answer: ["1>2.6V"],
  },
  {
    name: "more behind the prompt",
    ask: "ATE0",
    came: "OK\r\r>LP ALERT\r",
    answer: ["OK"],
    stray: "LP ALERT\r",
  },
  { name: "high bytes survive", ask: "ATI", came: "\xff\xc3\xa4\r>", answer: ["\xff\xc3\xa4"] },
];

interface Outcome {
  readonly ended: Exchange[];
  readonly stray: string;
  readonly state: State;
}

function feed(ask: string, chunks: readonly Uint8Array[], now = 130): Outcome {
  let { state } = step(resting, { kind: "sent", now: 100, ask, limits });
  const ended: Exchange[] = [];
  let stray = "";
  for (const bytes of chunks) {
    const result = step(state, { kind: "bytes", now, bytes });
    state = result.state;
    if (result.ended !== null) ended.push(result.ended);
    stray += result.stray;
  }
  return { ended, stray, state };
}

const oneByOne = (bytes: Uint8Array): Uint8Array[] => [...bytes].map((byte) => Uint8Array.of(byte));

describe("one exchange", () => {
  for (const { name, ask, came, answer, err, stray } of dialogues) {
    test(name, () => {
      const { ended, stray: left } = feed(ask, [bytesOf(came)]);
      expect(ended).toHaveLength(1);
      expect(ended[0]?.answer).toEqual(answer);
      expect(ended[0]?.err).toBe(err);
      expect(ended[0]?.first).toBe(30);
      expect(ended[0]?.end).toBe(30);
      expect(left).toBe(stray ?? "");
    });

    test(`${name}, byte by byte`, () => {
      const bytes = bytesOf(came);
      expect(feed(ask, oneByOne(bytes))).toEqual(feed(ask, [bytes]));
    });
  }

  test("the echo is kept in the lines as they came", () => {
    expect(feed("ATI", [bytesOf("ATI\rELM327 v1.5\r\r>")]).ended[0]?.lines).toEqual(["ATI", "ELM327 v1.5"]);
  });
});

test("how the bytes were cut makes no difference, noise and limits included", () => {
  const words = fc.constantFrom(
    ...dialogues.map((d) => d.came),
    "\r",
    "\n",
    "\0",
    ">",
    "010C1\r",
    "x".repeat(150),
  );
  const noise = fc.string({
    unit: fc.integer({ min: 0, max: 255 }).map((c) => String.fromCharCode(c)),
    maxLength: 12,
  });
  const stream = fc.array(fc.oneof({ weight: 3, arbitrary: words }, noise), { minLength: 1, maxLength: 8 });
  fc.assert(
    fc.property(
      stream,
      fc.array(fc.nat(80), { maxLength: 30 }),
      fc.constantFrom("010C1", "ATI", ""),
      (parts, cuts, ask) => {
        const bytes = bytesOf(parts.join(""));
        const whole = feed(ask, [bytes]);
        expect(feed(ask, oneByOne(bytes))).toEqual(whole);
        const chunks: Uint8Array[] = [];
        let from = 0;
        for (const cut of cuts) {
          chunks.push(bytes.slice(from, from + cut));
          from += cut;
        }
        chunks.push(bytes.slice(from));
        expect(feed(ask, chunks)).toEqual(whole);
      },
    ),
    { numRuns: 500 },
  );
});

test("nothing that came is lost: lines and strays hold every byte but NULs, line ends and the prompt", () => {
  const noise = fc.string({
    unit: fc.integer({ min: 0, max: 255 }).map((c) => String.fromCharCode(c)),
    maxLength: 300,
  });
  fc.assert(
    fc.property(noise, (text) => {
      const { ended, stray, state } = feed("010C1", [bytesOf(text)]);
      const last = state.at === "asking" ? step(state, { kind: "timeout", now: 1e6 }).ended : null;
      const lines = [...ended, ...(last === null ? [] : [last])].flatMap((e) => e.lines);
      const bare = (s: string): string => s.replace(/[\0\r\n>]/g, "");
      expect(bare(lines.join("") + stray)).toBe(bare(text));
    }),
    { numRuns: 500 },
  );
});

describe("waiting ends", () => {
  const begin = (ask = "010C1"): State => step(resting, { kind: "sent", now: 0, ask, limits }).state;
  const after = (state: State, text: string, now: number): State =>
    step(state, { kind: "bytes", now, bytes: bytesOf(text) }).state;

  test("a timer that rings early changes nothing", () => {
    const state = begin();
    expect(step(state, { kind: "timeout", now: 999 })).toEqual({ state, ended: null, stray: "" });
  });

  test("nothing came: silent", () => {
    const { ended } = step(begin(), { kind: "timeout", now: 1000 });
    expect(ended).toMatchObject({ err: "silent", lines: [], first: null, end: null });
  });

  test("half a reply came: cut, and the half is kept", () => {
    const state = after(begin(), "486B10 41", 400);
    expect(step(state, { kind: "timeout", now: 1399 }).ended).toBeNull();
    expect(step(state, { kind: "timeout", now: 1400 }).ended).toMatchObject({
      err: "cut",
      lines: ["486B10 41"],
      first: 400,
      end: null,
    });
  });

  test("a prompt in the middle of a line is none, and is not waited for long", () => {
    for (const said of ["OK>", "7E804>", "7E8>\0>"]) {
      const state = after(begin(), said, 100);
      expect(step(state, { kind: "timeout", now: 299 }).ended).toBeNull();
      expect(step(state, { kind: "timeout", now: 300 }).ended).toMatchObject({ err: "cut", end: null });
      expect(step(state, { kind: "bytes", now: 150, bytes: bytesOf("\r\r>") }).ended).toMatchObject({
        end: 150,
      });
    }
  });

  test("how many line ends stood before the prompt is told, however they were cut", () => {
    const came = [
      ["OK\r\r>", 2],
      ["OK\r\n\r\n>", 2],
      ["OK\r>", 1],
      ["OK\r\n>", 1],
      ["OK\r\0\r>", 2],
    ] as const;
    for (const [text, returns] of came)
      for (const chunks of [[bytesOf(text)], oneByOne(bytesOf(text))])
        expect(feed("ATE0", chunks).ended[0]).toMatchObject({ returns });
  });

  test("an adapter that is at work on the bus is given longer", () => {
    const state = after(begin(), "BUS INIT: ..", 100);
    expect(step(state, { kind: "timeout", now: 9000 }).ended).toBeNull();
    expect(step(state, { kind: "timeout", now: 9100 }).ended).toMatchObject({ err: "cut" });
  });

  test("bytes without end run into the limit of the whole exchange", () => {
    let state = begin();
    for (let now = 500; now < 20_000; now += 500) state = after(state, "\r", now);
    expect(step(state, { kind: "timeout", now: 20_000 }).ended).toMatchObject({ err: "cut" });
  });

  test("characters without end run into the limit, the rest is stray", () => {
    const result = step(begin(), { kind: "bytes", now: 5, bytes: bytesOf("y".repeat(450)) });
    expect(result.ended).toMatchObject({ err: "cut", lines: ["y".repeat(400)] });
    expect(result.stray).toBe("y".repeat(50));
  });

  test("the line goes away: closed", () => {
    expect(step(after(begin(), "48", 3), { kind: "closed", now: 4 }).ended).toMatchObject({
      err: "closed",
      lines: ["48"],
    });
  });

  test("the first byte of the reply counts, not that of the echo", () => {
    const state = after(after(begin(), "010C1\r", 2), "41 0C", 30);
    expect(step(state, { kind: "bytes", now: 31, bytes: bytesOf(" 1A F8\r\r>") }).ended).toMatchObject({
      first: 30,
      end: 31,
    });
  });

  test("two exchanges at once are a mistake of the program", () => {
    expect(() => step(begin(), { kind: "sent", now: 1, ask: "ATI", limits })).toThrow(RangeError);
  });
});
