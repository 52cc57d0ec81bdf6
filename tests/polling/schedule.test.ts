import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { foci, focusStyles, focusTable, type Focus } from "../../adapters/polling/focus.ts";
import {
  commandOf,
  nextRequest,
  nothingAsked,
  pidOf,
  singlesOnly,
  usualChannels,
  wantedOf,
  type AskId,
  type Means,
  type Modules,
  type Request,
} from "../../adapters/polling/schedule.ts";
import { channelInfo, socketVoltage } from "../../shared/decode.ts";
import { heardAlways, heardBeside } from "../../shared/heard.ts";
import { regimeLimits } from "../../src/interpret/folds/regimeLimits.ts";
import type { DefinedParameter } from "../../shared/defined.ts";
import { crankCounter } from "../support/defined.ts";

const engine: Modules = new Map([
  ["7E8", new Set([0x03, 0x04, 0x05, 0x06, 0x07, 0x0b, 0x0c, 0x0d, 0x0e, 0x0f, 0x11, 0x14, 0x33, 0x42])],
  ["7E9", new Set([0x0c, 0x0d])],
]);

const kLine: Means = { ...singlesOnly, voltsAreFree: true };
const can: Means = { mostPids: 6, mayShare: () => true, voltsAreFree: false };

interface Asked {
  readonly at: number;
  readonly request: Request;
}

/** Asks for a while; a bus request takes `busMs`, a voltage reading `voltsMs`. */
function run(
  focus: Focus,
  {
    means = singlesOnly,
    modules = engine,
    channels = [] as string[],
    seconds = 60,
    busMs = 120,
    voltsMs = 5,
    defined = [] as DefinedParameter[],
  } = {},
): Asked[] {
  const wanted = wantedOf({ channels, modules, focus, volts: true, defined });
  const asked: Asked[] = [];
  let state = nothingAsked;
  let now = 0;
  while (now < seconds * 1000) {
    const next = nextRequest(wanted, state, { now, focus, means });
    if (next === null) return asked;
    state = next.state;
    asked.push({ at: now, request: next.request });
    now += next.request.kind === "volts" ? voltsMs : busMs;
  }
  return asked;
}

/** What a request asks for. */
const idsOf = (request: Request): AskId[] => {
  if (request.kind === "volts") return [null];
  return request.kind === "defined" ? [request.read] : [...request.pids];
};

const timesOf = (asked: readonly Asked[], id: AskId): number[] =>
  asked.filter(({ request }) => idsOf(request).includes(id)).map(({ at }) => at);

describe("what is wanted", () => {
  test("the usual channels are those the modules support, and the voltage", () => {
    expect(usualChannels(engine)).toEqual([
      "engine-speed",
      socketVoltage,
      "manifold",
      "throttle",
      "module-voltage",
      "coolant",
      "intake-air",
      "trim-short-b1",
      "trim-long-b1",
      "fuel-system-1",
      "load",
      "oxygen-b1s1",
      "advance",
      "vehicle-speed",
      "barometric",
    ]);
  });

  test("every channel of the table is known", () => {
    for (const { channel } of focusTable) expect(channelInfo(channel)?.channel, channel).toBe(channel);
  });

  test("two channels of one parameter are one request", () => {
    const wanted = wantedOf({
      channels: ["oxygen-b1s1", "oxygen-trim-b1s1"],
      modules: engine,
      focus: "running",
      volts: true,
    });
    expect(wanted.map(({ pid }) => pid)).toEqual([0x14, null]);
  });

  test("what no module supports is not wanted", () => {
    const wanted = wantedOf({
      channels: ["air-flow", "engine-speed"],
      modules: engine,
      focus: "survey",
      volts: false,
    });
    expect(wanted.map(({ pid }) => pid)).toEqual([0x0c]);
  });

  test("sensors of bank 2 have other numbers on a module that counts four banks", () => {
    expect(pidOf("oxygen-b2s1", new Map([["10", new Set([0x13, 0x14, 0x18])]]))).toBe(0x18);
    expect(pidOf("oxygen-b2s1", new Map([["10", new Set([0x1d, 0x14, 0x16])]]))).toBe(0x16);
    expect(pidOf("oxygen-b2s1", new Map([["10", new Set([0x1d, 0x14, 0x18])]]))).toBeUndefined();
  });

  test("a pinned channel is read though it stands in no list", () => {
    const options = { channels: ["engine-speed"], modules: engine, focus: "survey", volts: true } as const;
    const pids = wantedOf({ ...options, pinned: new Set(["coolant"]) }).map(({ pid }) => pid);
    expect(pids).toEqual([0x0c, null, 0x05]);
  });

  test("what the signs need is read slowly whatever was chosen, and costs little", () => {
    const chosen = ["engine-speed", "load", "trim-short-b1"];
    for (const focus of foci) {
      const options = { channels: chosen, modules: engine, focus, volts: true };
      const heard = heardAlways.map(({ channel }) => channel);
      const wanted = wantedOf({ ...options, heard });
      const plain = wantedOf(options);
      for (const item of plain) expect(wanted).toContainEqual(item);
      const beside = wanted.filter(({ pid }) => !plain.some((p) => p.pid === pid));
      expect(beside.map(({ pid }) => pid)).toEqual(
        heardBeside(chosen, usualChannels(engine)).map(({ channel }) => pidOf(channel, engine)),
      );
      expect(beside.length).toBeGreaterThan(3);
      // On a bus of eight questions a second, the slowest of all, less than two of them.
      const aSecond = beside.reduce((sum, { maxAgeMs }) => sum + 1000 / maxAgeMs, 0);
      expect(aSecond).toBeLessThan(2);
    }
  });

  test("a long trim that stands in no lane is not older than the regimes allow", () => {
    const wanted = wantedOf({
      ...{ channels: ["engine-speed", "load"], modules: engine, focus: "running", volts: true },
      heard: ["trim-long-b1", "coolant"],
    });
    const times: number[] = [];
    let state = nothingAsked;
    for (let now = 0; now < 60_000; now += 120) {
      const next = nextRequest(wanted, state, { now, focus: "running", means: singlesOnly });
      if (next === null) throw new Error("nothing to ask");
      state = next.state;
      if (next.request.kind === "parameters" && next.request.pids.includes(0x07)) times.push(now);
    }
    const gaps = times.slice(1).map((t, i) => t - (times[i] ?? 0));
    expect(times.length).toBeGreaterThan(8);
    expect(Math.max(...gaps)).toBeLessThanOrEqual(regimeLimits.staleMs);
  });

  test("a speed that nobody drew still leads while it cranks", () => {
    const [speed] = wantedOf({
      ...{ channels: ["coolant"], modules: engine, focus: "cranking", volts: false },
      heard: ["engine-speed"],
    }).filter(({ pid }) => pid === 0x0c);
    expect(speed).toMatchObject({ leads: true, maxAgeMs: 300 });
  });

  test("a pinned channel has more", () => {
    const options = {
      channels: ["coolant", "load"],
      modules: engine,
      focus: "survey",
      volts: false,
    } as const;
    const plain = wantedOf(options).find(({ pid }) => pid === 0x05);
    const pinned = wantedOf({ ...options, pinned: new Set(["coolant"]) }).find(({ pid }) => pid === 0x05);
    expect(pinned?.share).toBe(4 * (plain?.share ?? 0));
    expect(pinned?.maxAgeMs).toBe((plain?.maxAgeMs ?? 0) / 4);
  });
});

describe("the order of requests", () => {
  test.each(foci.flatMap((focus) => [kLine, can, singlesOnly].map((means) => [focus, means] as const)))(
    "%s: no channel starves",
    (focus, means) => {
      const asked = run(focus, { means, seconds: 200 });
      const wanted = wantedOf({ channels: [], modules: engine, focus, volts: true });
      for (const { pid, maxAgeMs } of wanted) {
        // Kept but for the requests that stand before it, once the first round is over.
        const times = timesOf(asked, pid).filter((at) => at > 20_000);
        const gaps = times.slice(1).map((at, i) => at - (times[i] ?? 0));
        expect(Math.max(...gaps), `${String(pid)} in ${focus}`).toBeLessThan(maxAgeMs + 1000);
      }
    },
  );

  test("while cranking the engine speed has at least every other request of the bus", () => {
    for (const means of [kLine, singlesOnly, can]) {
      const asked = run("cranking", { means }).filter(({ request }) => request.kind === "parameters");
      asked.forEach(({ request }, i) => {
        const before = asked[i - 1]?.request;
        const has = (r: Request | undefined): boolean =>
          r === undefined || (r.kind === "parameters" && r.pids.includes(0x0c));
        expect(has(request) || has(before)).toBe(true);
      });
    }
  });

  test("on the slow bus that is more than four times a second, with the voltage as often", () => {
    const asked = run("cranking", { means: kLine, busMs: 118.5 });
    expect(timesOf(asked, 0x0c).length / 60).toBeGreaterThan(5);
    expect(timesOf(asked, null).length / 60).toBeGreaterThan(5);
    expect(timesOf(asked, 0x0b).length / 60).toBeGreaterThan(0.9);
  });

  test("without a leading channel what was never asked comes first, however old the rest is by then", () => {
    for (const focus of foci.filter((f) => focusStyles[f].leads === null)) {
      const wanted = wantedOf({ channels: [], modules: engine, focus, volts: true });
      // So slow a bus that what was asked first is overdue several times before the round is through.
      const first = run(focus, { seconds: 100, busMs: 2000, voltsMs: 2000 }).slice(0, wanted.length);
      expect(new Set(first.flatMap(({ request }) => idsOf(request))).size, focus).toBe(wanted.length);
    }
  });

  test("a free voltage is not read more often than it can change anything", () => {
    const times = timesOf(run("running", { means: kLine, busMs: 20 }), null);
    expect(times.length).toBeGreaterThan(100);
    expect(Math.min(...times.slice(1).map((t, i) => t - (times[i] ?? 0)))).toBeGreaterThanOrEqual(60);
  });

  test("while cranking on CAN a reply fits into one frame", () => {
    for (const { request } of run("cranking", { means: can, seconds: 5, busMs: 15 })) {
      if (request.kind !== "parameters") continue;
      const bytes = request.pids.reduce(
        (sum, pid) => sum + (pid === 0x0c || pid === 0x42 ? 3 : pid === 0x14 || pid === 0x03 ? 3 : 2),
        1,
      );
      expect(bytes).toBeLessThanOrEqual(7);
    }
  });

  test("on CAN six parameters share a request when the engine runs", () => {
    const asked = run("running", { means: can, seconds: 5, busMs: 25 });
    const sizes = asked.flatMap(({ request }) =>
      request.kind === "parameters" ? [request.pids.length] : [],
    );
    expect(Math.max(...sizes)).toBe(6);
    expect(asked.every(({ request }) => new Set(idsOf(request)).size === idsOf(request).length)).toBe(true);
  });

  test("a single channel is asked again and again", () => {
    const asked = run("survey", { channels: ["engine-speed"], seconds: 2 });
    expect(timesOf(asked, 0x0c).length).toBeGreaterThan(10);
  });

  test("nothing wanted, nothing asked", () => {
    expect(nextRequest([], nothingAsked, { now: 0, focus: "survey", means: can })).toBeNull();
  });

  test("whatever is supported and chosen: never a request that no module supports, all of it asked in time", () => {
    const pid = fc.constantFrom(0x04, 0x05, 0x06, 0x0b, 0x0c, 0x0d, 0x10, 0x11, 0x14, 0x33, 0x42);
    const modules = fc.dictionary(
      fc.constantFrom("7E8", "7E9", "7EA"),
      fc.uniqueArray(pid, { maxLength: 11 }),
      { minKeys: 1 },
    );
    const channels = fc.subarray(focusTable.map((row) => row.channel));
    fc.assert(
      fc.property(
        modules,
        channels,
        fc.constantFrom(...foci),
        fc.constantFrom(kLine, can, singlesOnly),
        (raw, chosen, focus, means) => {
          const supported: Modules = new Map(
            Object.entries(raw).map(([address, pids]) => [address, new Set(pids)]),
          );
          const union = new Set<number>(Object.values(raw).flat());
          const asked = run(focus, { means, modules: supported, channels: chosen, seconds: 70, busMs: 100 });
          for (const { request } of asked) {
            if (request.kind === "parameters") expect(request.pids.filter((p) => !union.has(p))).toEqual([]);
          }
          const wanted = wantedOf({ channels: chosen, modules: supported, focus, volts: true });
          for (const { pid: p } of wanted) expect(timesOf(asked, p).length).toBeGreaterThan(0);
        },
      ),
      { numRuns: 60 },
    );
  });
});

test("commands", () => {
  expect(commandOf([0x0c], 1)).toBe("010C1");
  expect(commandOf([0x0c, 0x0b], null)).toBe("010C0B");
  expect(commandOf([0x0c], 12)).toBe("010CC");
  expect(commandOf([0x0c], 16)).toBe("010C");
});

describe("reads that the person defined", () => {
  test.each([kLine, can])("a counter is asked every other second at least while cranking", (means) => {
    const asked = run("cranking", { means, seconds: 60, busMs: 125, defined: [crankCounter] });
    const times = timesOf(asked, crankCounter.request);
    const gaps = times.slice(1).map((at, i) => at - (times[i] ?? 0));
    expect(Math.max(...gaps)).toBeLessThan(2000);
    // Engine speed keeps its part.
    const speeds = timesOf(asked, 0x0c).length;
    expect(speeds).toBeGreaterThan(timesOf(asked, 0x0b).length);
  });

  test("the channels that were picked leave out what was not", () => {
    const wanted = wantedOf({
      channels: ["engine-speed"],
      modules: engine,
      focus: "running",
      volts: true,
      defined: [crankCounter],
    });
    expect(wanted.map(({ pid }) => pid)).toEqual([0x0c, null]);
  });

  test("a counter's rate is read by reading the counter", () => {
    const wanted = wantedOf({
      channels: ["crank-signal-rate", "crank-signal"],
      modules: engine,
      focus: "running",
      volts: false,
      defined: [crankCounter],
    });
    expect(wanted.map(({ pid }) => pid)).toEqual(["221101"]);
  });
});
