/**
 * How many readings a second come in, for each protocol and one or two modules, beside the ceiling that the bus,
 * the modules' response time and the serial line leave for the same exchange, and beside a plain loop: one
 * parameter a request, no reply count, the adapter's default time-out; with the adapter's adaptive timing, as it is on
 * from the beginning (from memory), and with the whole of the time-out. On the virtual clock: the same each time.
 */
import { attachAdapter, Bench } from "../../adapters/bench/index.ts";
import type { BenchModule } from "../../adapters/bench/vehicles.ts";
import { choose, Dialogue, follow, prepareAdapter } from "../../adapters/dialogue/index.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { ratedPair } from "../../adapters/link/rated.ts";
import { hear } from "../../adapters/polling/heard.ts";
import { RateMemory } from "../../adapters/polling/rateMemory.ts";
import { Session, type SessionOptions } from "../../adapters/polling/session.ts";
import { channelInfo } from "../../shared/decode.ts";
import { parameterByPid } from "../../shared/parameters.ts";
import { protocolIds, protocols, type ProtocolId } from "../../shared/protocols.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";

const twelve = [
  ...["engine-speed", "air-flow", "throttle", "coolant", "intake-air", "load"],
  ...["trim-short-b1", "trim-long-b1", "advance", "vehicle-speed", "module-voltage", "barometric"],
] as const;

const baud = 115_200;
const slowBaud = 38_400;
const seconds = 20;

interface Setting {
  readonly protocol: ProtocolId;
  readonly modules: 1 | 2;
  readonly channels: number;
}

interface Rig {
  readonly clock: VirtualClock;
  readonly bench: Bench;
  readonly open: () => Promise<ReturnType<typeof memoryPair>[0]>;
  /** What the session is told beyond the usual. */
  readonly session?: Partial<SessionOptions>;
}

/** The van on another bus: addresses are those of the protocol. Only what the adapter asks of the vehicle changes. */
function rig({ protocol, modules }: Setting): Rig {
  const clock = new VirtualClock();
  const bench = new Bench({ vehicle: "garden-van", clock });
  const rows = bench.vehicle.modules
    .slice(0, modules)
    .map((row, i): BenchModule => ({ ...row, address: addressOf(protocol, i) }));
  Object.defineProperty(bench, "vehicle", { value: { ...bench.vehicle, protocol, modules: rows } });
  bench.act({ act: "key", to: "on" });
  const open: Rig["open"] = () => {
    const [ours, theirs] = memoryPair("bench", "adapter");
    attachAdapter(bench, theirs, clock, { baud });
    return Promise.resolve(ours);
  };
  return { clock, bench, open };
}

function addressOf(protocol: ProtocolId, index: number): number {
  const { idBits } = protocols[protocol];
  if (idBits === 11) return 0x7e8 + index;
  if (idBits === 29) return 0x18daf110 + 8 * index;
  return 0x10 + 8 * index;
}

/** Readings of vehicle channels a second by the session, and the most that its own exchanges could have brought. */
async function bySession(setting: Setting, line = rig(setting)): Promise<{ polled: number; most: number }> {
  const { clock, bench, open } = line;
  let readings = 0;
  let leastMs = 0;
  let counting = false;
  const sink = {
    zeroMs: 0,
    append(event: RecordingEvent): void {
      if (!counting || event.k !== "x" || !event.ask.startsWith("01")) return;
      const pids = pidsOf(event.ask);
      readings += count(event.lines, pids, setting);
      leastMs += exchangeMs(setting, bench.vehicle.modules, pids);
    },
  };
  const channels = twelve.slice(0, setting.channels);
  const session = new Session({
    ...{ open, address: "bench:garden-van", clock, sink, channels },
    ...line.session,
  });
  await clock.run(session.connect());
  session.start(sink);
  await clock.pass(3000);
  counting = true;
  await clock.pass(seconds * 1000);
  counting = false;
  await clock.run(session.close());
  bench.stop();
  return { polled: readings / seconds, most: (readings * 1000) / leastMs };
}

/** The same channels, one after the other, as a plain loop would; `fixed`: with adaptive timing off as well. */
async function byPlainLoop(setting: Setting, fixed = false, line = rig(setting)): Promise<number> {
  const { clock, bench, open } = line;
  const dialogue = new Dialogue(await open(), clock);
  const run = async (): Promise<number> => {
    await follow(prepareAdapter("bench"), dialogue);
    await follow(choose(setting.protocol), dialogue);
    if (fixed) await dialogue.ask("ATAT0");
    await dialogue.ask("0100", { silenceMs: 9000 });
    const from = clock.now();
    let readings = 0;
    for (let i = 0; clock.now() - from < seconds * 1000; i++) {
      const pid = channelInfo(twelve[i % setting.channels] ?? "")?.pid ?? 0;
      const { answer, ask } = await dialogue.ask(`01${pid.toString(16).toUpperCase().padStart(2, "0")}`);
      readings += count(answer, pidsOf(ask), setting);
    }
    return (readings * 1000) / (clock.now() - from);
  };
  const running = run();
  await clock.run(running);
  const rate = await running;
  await dialogue.close();
  bench.stop();
  return rate;
}

function pidsOf(ask: string): number[] {
  return (ask.slice(2).match(/../g) ?? []).map((pair) => parseInt(pair, 16));
}

/** Channels heard, each once, however many modules send it. */
function count(lines: readonly string[], pids: readonly number[], { protocol }: Setting): number {
  return new Set(hear(lines, pids, protocol).answers.map(({ pid }) => pid)).size;
}

const charMs = 10_000 / baud;

/** Milliseconds of a frame with so many data bytes behind the header. Figures: trade literature, arithmetic by hand. */
function frameMs(protocol: ProtocolId, bytes: number, request: boolean): number {
  const { family, idBits, bitsPerSecond } = protocols[protocol];
  switch (family) {
    // Three header bytes and a checksum. VPW: mean of 64 and 128 us a bit, start 200 us, then 300 us. PWM: start 48 us,
    // 24 us a bit, end of data 48 us, one in-frame response byte of 192 us, then 96 us.
    case "vpw":
      return 0.2 + (bytes + 4) * 8 * 0.096 + 0.3;
    case "pwm":
      return (48 + (bytes + 4) * 8 * 24 + 48 + 192 + 96) / 1000;
    case "iso9141":
    case "kwp":
      return ((bytes + 4) * 10_000) / bitsPerSecond + (request ? (bytes + 3) * 5 : 0);
    case "can":
      // Always eight data bytes; without stuffing.
      return (((idBits === 29 ? 64 : 44) + 64 + 3) * 1000) / bitsPerSecond;
  }
}

/**
 * One exchange, nothing wasted: the request over the line and the bus; modules that think at the same time and
 * queue for the bus; each frame printed while the next is on its way; the prompt; on the K line the rest (P3, 55 ms,
 * from memory) after the last reply, in which the serial line has its time. Modules take their mean time.
 */
function exchangeMs({ protocol }: Setting, rows: readonly BenchModule[], pids: readonly number[]): number {
  const { family, idBits } = protocols[protocol];
  const can = family === "can";
  const asked = (2 + 2 * pids.length + 2) * charMs;
  const requested = asked + frameMs(protocol, 1 + pids.length, true);
  let busFree = requested;
  let printed = 0;
  const thinking = rows.map((row) => ({ row, at: requested + row.answerMs + row.answerSpreadMs / 2 }));
  for (const { row, at } of thinking.toSorted((a, b) => a.at - b.at)) {
    const mine = pids.filter((pid) => row.pids.includes(pid));
    if (mine.length === 0) continue;
    const bytes = mine.reduce((sum, pid) => sum + 1 + (parameterByPid.get(pid)?.bytes ?? 0), 1);
    const frames = !can || bytes <= 7 ? 1 : 1 + Math.ceil((bytes - 6) / 7);
    const digits = can ? bytes + (frames === 1 ? 1 : frames + 1) : bytes + 1;
    const characters = frames * ((idBits === 29 ? 8 : idBits === 11 ? 3 : 6) + 1) + 2 * digits;
    busFree = Math.max(busFree, at);
    for (let frame = 0; frame < frames; frame++) {
      busFree += frameMs(protocol, bytes, false) + (frame === 1 ? frameMs(protocol, 0, false) : 0);
      printed = Math.max(printed, busFree) + (characters / frames) * charMs;
    }
  }
  const prompted = printed + 2 * charMs;
  const kLine = family === "iso9141" || family === "kwp";
  return kLine ? Math.max(prompted, busFree + 55 - asked) : prompted;
}

/** `only`: one protocol by its name in the program, such as `can11-500`. */
export async function measurePolling(only?: string): Promise<void> {
  const measured = protocolIds.filter((id) => only === undefined || id === only);
  if (measured.length === 0)
    throw new Error(`no protocol ${only ?? ""}; there are ${protocolIds.join(", ")}`);
  const out = (text: string): void => void process.stdout.write(`  ${text}\n`);
  out(
    `readings a second at ${baud} baud: polled, ceiling, ratio; plain loop, times as fast; the ceiling in times of the plain loop; a plain loop that waits out the whole time-out`,
  );
  for (const protocol of measured) {
    for (const modules of [1, 2] as const) {
      for (const channels of [1, 6, 12]) {
        const setting = { protocol, modules, channels };
        const { polled, most } = await bySession(setting);
        const plain = await byPlainLoop(setting);
        const fixed = await byPlainLoop(setting, true);
        out(
          `${protocols[protocol].name.padEnd(24)} ${modules} ${modules === 1 ? "module " : "modules"} ${String(channels).padStart(2)} channels` +
            `${polled.toFixed(1).padStart(8)} ${most.toFixed(1).padStart(8)} ${(polled / most).toFixed(2).padStart(6)}` +
            `${plain.toFixed(1).padStart(8)} ${(polled / plain).toFixed(1).padStart(6)} x` +
            `  ceiling is ${(most / plain).toFixed(1)} times the plain loop` +
            `${fixed.toFixed(1).padStart(6)} ${(polled / fixed).toFixed(1).padStart(5)} x`,
        );
      }
    }
  }
  await measureFasterLine(out, measured);
  await measureRadio(out, measured);
}

/** Half of a turn on Bluetooth Low Energy, milliseconds: connection intervals of 15 to 50 ms are usual (from memory). */
const radioMs = 25;

/** What a radio link costs: each way takes its time, whatever it carries, so that what one request brings counts. */
async function measureRadio(out: (text: string) => void, measured: readonly ProtocolId[]): Promise<void> {
  out(
    `readings a second over a radio of ${2 * radioMs} ms a turn: polled, plain loop, times as fast; without the radio`,
  );
  for (const protocol of measured) {
    for (const channels of [1, 6, 12]) {
      const setting: Setting = { protocol, modules: 1, channels };
      const { polled } = await bySession(setting, onRadio(rig(setting)));
      const plain = await byPlainLoop(setting, false, onRadio(rig(setting)));
      const wired = await bySession(setting);
      out(
        `${protocols[protocol].name.padEnd(24)} ${String(channels).padStart(2)} channels` +
          `${polled.toFixed(1).padStart(8)} ${plain.toFixed(1).padStart(8)} ${(polled / plain).toFixed(1).padStart(6)} x` +
          wired.polled.toFixed(1).padStart(8),
      );
    }
  }
}

function onRadio(line: Rig): Rig {
  const late = <T>(act: () => T): Promise<T> =>
    new Promise((resolve) => {
      line.clock.after(radioMs, () => resolve(act()));
    });
  return {
    ...line,
    open: async () => {
      const end = await line.open();
      return {
        ...end,
        write: (bytes) => {
          const copy = bytes.slice();
          return late(() => end.write(copy)).then((written) => written);
        },
        onBytes: (listener) => end.onBytes((bytes) => void late(() => listener(bytes))),
      };
    },
  };
}

/** The adapter's own rate of most adapters, and what asking for a faster line brings, byte times included. */
async function measureFasterLine(
  out: (text: string) => void,
  measured: readonly ProtocolId[],
): Promise<void> {
  out("readings a second of an adapter that begins at 38400 baud: as it is, and asked for a faster line");
  for (const protocol of measured) {
    for (const channels of [1, 12]) {
      const setting: Setting = { protocol, modules: 1, channels };
      const slow = await bySession(setting, ratedRig(setting, false));
      const fast = await bySession(setting, ratedRig(setting, true));
      out(
        `${protocols[protocol].name.padEnd(24)} ${String(channels).padStart(2)} channels` +
          `${slow.polled.toFixed(1).padStart(8)} ${fast.polled.toFixed(1).padStart(8)} ${(fast.polled / slow.polled).toFixed(2).padStart(6)} x`,
      );
    }
  }
}

/** The same vehicle on a line that has a rate of its own. */
function ratedRig(setting: Setting, faster: boolean): Rig {
  const { clock, bench } = rig(setting);
  const open: Rig["open"] = () => {
    const [ours, theirs] = ratedPair("bench", "adapter", slowBaud);
    attachAdapter(bench, theirs, clock, { baud: slowBaud });
    return Promise.resolve(ours);
  };
  return { clock, bench, open, session: faster ? { rates: new RateMemory(), baud: slowBaud } : {} };
}
