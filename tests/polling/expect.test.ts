import { describe, expect, test } from "vitest";
import { Expectations } from "../../adapters/polling/expect.ts";
import { hear, hearRead } from "../../adapters/polling/heard.ts";
import type { Modules } from "../../adapters/polling/schedule.ts";

const two: Modules = new Map([
  ["7E8", new Set([0x0b, 0x0c, 0x05])],
  ["7E9", new Set([0x0c])],
]);

/** One exchange: asked with the count that was expected, answered with these lines. */
function exchange(
  expects: Expectations,
  pids: readonly number[],
  lines: readonly string[],
  now = 0,
): number | null {
  const replies = expects.repliesTo(pids, now);
  expects.learn(pids, replies, hear(lines, pids, "can11-500"), now);
  return replies;
}

const speedOfBoth = ["7E804410C1AF8", "7E904410C1AF8"];

describe("how many replies", () => {
  test("as many as modules announced it", () => {
    const expects = new Expectations(two);
    expect(expects.repliesTo([0x0c], 0)).toBe(2);
    expect(expects.repliesTo([0x0b], 0)).toBe(1);
    expect(expects.repliesTo([0x0b, 0x0c], 0)).toBe(2);
    expect(expects.repliesTo([0x11], 0)).toBeNull();
  });

  test("a module that dies is no longer waited for, and is listened for now and then", () => {
    const expects = new Expectations(two);
    for (let i = 0; i < 3; i++) expect(exchange(expects, [0x0c], ["7E804410C1AF8"])).toBe(2);
    expect(expects.deadModules).toEqual(["7E9"]);
    expect(exchange(expects, [0x0c], ["7E804410C1AF8"], 100)).toBeNull();
    expect(exchange(expects, [0x0c], ["7E804410C1AF8"], 200)).toBe(1);
    expect(exchange(expects, [0x0c], speedOfBoth, 6000)).toBeNull();
    expect(expects.deadModules).toEqual([]);
    expect(expects.repliesTo([0x0c], 6100)).toBe(2);
  });

  test("a bus that falls silent kills nobody", () => {
    const expects = new Expectations(two);
    for (let i = 0; i < 9; i++) exchange(expects, [0x0c], ["NO DATA"]);
    expect(expects.deadModules).toEqual([]);
    expect(expects.repliesTo([0x0c], 0)).toBe(2);
  });

  test("an adapter that refuses the count twice is asked without", () => {
    const expects = new Expectations(two);
    expect(exchange(expects, [0x0c], ["?"])).toBe(2);
    expect(exchange(expects, [0x0c], ["?"])).toBe(2);
    expect(expects.counts).toBe(false);
    expect(expects.repliesTo([0x0c], 0)).toBeNull();
  });

  test("one question mark between good answers is noise", () => {
    const expects = new Expectations(two);
    for (let i = 0; i < 5; i++) {
      exchange(expects, [0x0c], ["?"]);
      exchange(expects, [0x0c], speedOfBoth);
    }
    expect(expects.counts).toBe(true);
  });

  test("a module that asks for more time is waited out", () => {
    const expects = new Expectations(two);
    exchange(expects, [0x0b], ["7E8037F0178"]);
    expect(expects.repliesTo([0x0b], 0)).toBeNull();
    expect(expects.repliesTo([0x0c], 0)).toBe(2);
  });
});

describe("what is cut or put off teaches nothing", () => {
  const all = [0x0c, 0x0b, 0x05];

  test("a module of which half a message came is not given up", () => {
    const expects = new Expectations(two);
    const cut = ["7E81008410C1AF80B65", "7E904410C1AF8"];
    for (let i = 0; i < 6; i++) exchange(expects, all, cut);
    expect(expects.deadModules).toEqual([]);
    for (let i = 0; i < 3; i++) exchange(expects, [0x0c], ["7E904410C1AF8"]);
    expect(expects.deadModules).toEqual(["7E8"]);
  });

  test("more time is asked for with 78 of the same service: that is no refusal, and any other reason is", () => {
    const told = (line: string) => {
      const { pending, refusals, foreign, trouble } = hear([line], [0x0b], "can11-500");
      return { pending, refusals, foreign, trouble };
    };
    expect(told("7E8037F0178")).toEqual({ pending: true, refusals: 0, foreign: false, trouble: null });
    expect(told("7E8037F0112")).toEqual({ pending: false, refusals: 1, foreign: false, trouble: null });
    // Of another service it says nothing about this one.
    expect(told("7E8037F2278")).toEqual({ pending: false, refusals: 0, foreign: false, trouble: null });
    expect(hearRead(["7E8037F2278"], "221101", "can11-500")).toMatchObject({ pending: true, refusals: 0 });
    expect(hearRead(["7E8037F2231"], "221101", "can11-500")).toMatchObject({ pending: false, refusals: 1 });
  });
});

describe("several parameters in one request", () => {
  const all = [0x0c, 0x0b, 0x05];

  test("only on CAN", () => {
    const expects = new Expectations(two);
    expect(expects.means("can11-500").mostPids).toBe(6);
    expect(expects.means("can11-500").mayShare(0x0c)).toBe(true);
    expect(expects.means("iso9141").mostPids).toBe(1);
    expect(expects.means("vpw").voltsAreFree).toBe(false);
    expect(expects.means("kwp-fast").voltsAreFree).toBe(true);
  });

  test("the golden long reply is whole: length, six bytes, then the rest", () => {
    const heard = hear(["7E81008410C1AF80B65", "7E821057B0000000000", "7E904410C1AF8"], all, "can11-500");
    expect(heard.answers.map(({ module, pid }) => `${module} ${pid.toString(16)}`)).toEqual([
      "7E8 c",
      "7E8 b",
      "7E8 5",
      "7E9 c",
    ]);
    expect(heard.unfinished).toBe(false);
  });

  test("an adapter whose count stops a long reply is given the count of frames, then none", () => {
    const expects = new Expectations(two);
    const stopped = ["7E81008410C1AF80B65", "7E904410C1AF8"];
    expect(exchange(expects, all, stopped)).toBe(2);
    expect(exchange(expects, all, stopped)).toBe(2);
    // 8 bytes take two frames, the gearbox one more.
    expect(exchange(expects, all, stopped)).toBe(3);
    expect(exchange(expects, all, stopped)).toBe(3);
    expect(expects.repliesTo(all, 0)).toBeNull();
    expect(expects.repliesTo([0x0c], 0)).toBe(2);
  });

  test("a module that answers only the first parameter gets single requests", () => {
    const expects = new Expectations(two);
    for (let i = 0; i < 2; i++) exchange(expects, all, speedOfBoth);
    const { mayShare } = expects.means("can11-500");
    expect(mayShare(0x0b)).toBe(false);
    expect(mayShare(0x0c)).toBe(false);
  });

  test("a module that ignores shared requests is proved by a single one in between", () => {
    const expects = new Expectations(two);
    exchange(expects, all, ["NO DATA"]);
    expect(expects.means("can11-500").mostPids).toBe(1);
    exchange(expects, [0x0c], speedOfBoth);
    expect(expects.means("can11-500").mostPids).toBe(6);
    exchange(expects, all, ["NO DATA"]);
    expect(expects.means("can11-500").mayShare(0x0c)).toBe(false);
  });

  test("a vehicle that falls silent proves nothing about sharing", () => {
    const expects = new Expectations(two);
    for (let i = 0; i < 9; i++) exchange(expects, all, ["NO DATA"]);
    exchange(expects, [0x0c], speedOfBoth);
    expect(expects.means("can11-500").mayShare(0x0c)).toBe(true);
  });

  test("lengths that are uncertain are asked alone", () => {
    const expects = new Expectations(new Map([["7E8", new Set([0x68, 0x0c])]]));
    expect(expects.means("can11-500").mayShare(0x68)).toBe(false);
  });
});

describe("what was heard", () => {
  test("an answer to another request is foreign", () => {
    expect(hear(["7E803410B65"], [0x0c], "can11-500").foreign).toBe(true);
    expect(hear(["7E804410C1AF8"], [0x0c], "can11-500").foreign).toBe(false);
    expect(hear(["7E8024300"], [0x0c], "can11-500").foreign).toBe(true);
  });

  test("damage is trouble of the bus", () => {
    expect(hear(["48 6B 10 41 0C <DATA ERROR"], [0x0c], "vpw").trouble).toBe("bus");
  });

  test("published: 48 6B 40 41 0C 0C 97 E3 is an engine speed of module 40", () => {
    // "Rangkuman ISO 9141-2 dan ISO 14230": the checksum fits this header.
    const heard = hear(["48 6B 40 41 0C 0C 97 E3"], [0x0c], "iso9141");
    expect(heard.answers).toEqual([{ module: "40", pid: 0x0c, data: Uint8Array.of(0x0c, 0x97) }]);
  });
});
