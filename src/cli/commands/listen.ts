import type { Command } from "commander";
import { realClock } from "../../../adapters/link/index.ts";
import { addressShapes, parseAddress } from "../../../shared/address.ts";
import { channelInfo, socketVoltage } from "../../../shared/decode.ts";
import { definedChannels } from "../../../shared/defined.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { format } from "../../../shared/units.ts";
import { strengthFigures, strengthText } from "../../interpret/crank/strengthIn.ts";
import type { ChannelStore } from "../../../shared/channels.ts";
import { clockText } from "../../../shared/times.ts";
import { durationMs } from "../duration.ts";
import { interrupted } from "../interrupt.ts";
import { parametersFrom, parametersOption } from "../parametersFile.ts";
import { Progress } from "../progress.ts";
import { record } from "../record.ts";
import { cylinderCount, strengthIntroduction, strengthTold } from "../strength.ts";
import { plain } from "../plain.ts";
import { WiggleFollower, wigglePlace } from "../wiggle.ts";
import { unconfirmedOption } from "../unconfirmed.ts";

interface ListenOptions {
  readonly unconfirmed?: true;
  readonly on: string;
  readonly out: string;
  readonly for?: string;
  readonly channels?: string;
  readonly pin?: string;
  readonly parameters?: string;
  readonly survey: boolean;
  readonly strength?: string;
  readonly wiggle?: string;
}

/** Longest time for the questions at the end, milliseconds. */
const lastQuestionsMs = 30_000;

export function listenCommand(program: Command): void {
  program
    .command("listen")
    .description("read a vehicle and keep everything in a recording")
    .requiredOption("--on <address>", addressShapes)
    .requiredOption(
      "--out <file>",
      "the recording to make, NAME.ndjson; an existing file is never overwritten",
    )
    .option("--for <time>", "how long, such as 30s or 5min; without it until Ctrl-C")
    .option("--channels <names>", "channels to read, with commas between; the usual set without it")
    .option("--pin <names>", "channels to read more often than the rest, with commas between")
    .option("--no-survey", "do not read all modules (DTCs, Mode 06, identity) at key on and at the end")
    .option(
      "--strength <cylinders>",
      "relative compression: reads voltage and RPM alone, tells you when to crank and rest, and ends when it is enough",
    )
    .option(
      "--wiggle <place>",
      "the place that you wiggle: leave it alone for half a minute, then move it until --for or Ctrl-C; each drop-out is told",
    )
    .option(...parametersOption)
    .option(...unconfirmedOption)
    .action(listen);
}

async function listen(options: ListenOptions): Promise<void> {
  const address = parseAddress(options.on);
  const lengthMs = options.for === undefined ? null : durationMs(options.for);
  const defined = parametersFrom(options.parameters);
  const own = defined.flatMap(definedChannels);
  const channels = channelNames(options.channels, own);
  const pinned = channelNames(options.pin, own);
  const cylinders = options.strength === undefined ? null : cylinderCount(options.strength);
  const place = options.wiggle === undefined ? null : wigglePlace(options.wiggle);
  if (cylinders !== null) process.stdout.write(strengthIntroduction());
  const progress = new Progress();
  const stop = interrupted();
  const recorder = await record({
    address,
    out: options.out,
    clock: realClock,
    unconfirmed: options.unconfirmed === true,
    channels,
    pinned,
    defined,
    survey: options.survey,
    ...(cylinders === null ? {} : { vehicle: { cylinders } }),
    onDoing: (text) => progress.show(text),
  });
  try {
    recorder.start();
    const begun = realClock.now();
    let enough: () => void = () => undefined;
    const whole = new Promise<void>((resolve) => (enough = resolve));
    const { analyst, mark, now } = recorder;
    const since = analyst.reading.lastTime;
    if (cylinders !== null) recorder.session.arm(true, true);
    const wiggle = place === null ? null : new WiggleFollower(analyst.reading, place, mark);
    const ticks = new Ticker(() => {
      const told = cylinders === null ? undefined : strengthTold(analyst, cylinders, since);
      const moved = wiggle?.told(now());
      for (const line of moved?.news ?? []) progress.end(`${bell()}${line}`);
      const words = [told, moved].map((one) => (one === undefined ? "" : `  ${one.words}`)).join("");
      progress.show(`${clockText(realClock.now() - begun)}  ${reading(analyst.reading.channels)}${words}`);
      if (told?.over === true) enough();
    });
    let cancel: () => void = () => undefined;
    const over = new Promise<void>((resolve) => {
      if (lengthMs !== null) cancel = realClock.after(lengthMs, resolve);
    });
    await Promise.race([over, whole, stop.done]);
    cancel();
    ticks.stop();
    wiggle?.end(now());
    if (cylinders !== null) recorder.session.arm(false);
    await recorder.session.lastSurvey(lastQuestionsMs);
  } finally {
    stop.release();
    await recorder.close();
  }
  progress.end(`${options.out}: ${recorder.summary()}`);
  if (place !== null) {
    const [wiggled] = recorder.analyst.findings().wiggles ?? [];
    process.stdout.write(
      plain(`${wiggled?.words ?? "it was not moved: the half minute before it was not over"}\n`),
    );
  }
  if (cylinders === null) return;
  const { strength } = recorder.analyst.findings();
  const said =
    strength === undefined
      ? "no crank without firing was seen"
      : `${strengthText(strength)}.\n  ${strengthFigures(strength)}`;
  process.stdout.write(`Relative compression: ${said}\n`);
}

/** A terminal sounds; a file that takes the lines does not. */
const bell = (): string => (process.stderr.isTTY ? "\u0007" : "");

/** Calls back once a second. */
class Ticker {
  #cancel: () => void = () => undefined;

  constructor(tick: () => void) {
    const again = (): void => {
      tick();
      this.#cancel = realClock.after(1000, again);
    };
    again();
  }

  stop(): void {
    this.#cancel();
  }
}

/** `own`: channels that the person defined. */
export function channelNames(list: string | undefined, own: readonly string[] = []): string[] {
  const names = (list ?? "").split(",").map((name) => name.trim());
  const wanted = names.filter((name) => name !== "");
  for (const name of wanted) {
    if (channelInfo(name) === undefined && !own.includes(name)) {
      throw new CranksideError("wrong-use", "no such channel", {
        expected: "names such as engine-speed, socket-voltage, manifold",
        found: JSON.stringify(name),
      });
    }
  }
  return wanted;
}

function reading(store: ChannelStore): string {
  const last = (channel: string): number | undefined => store.find(channel)?.values.at(-1);
  return `speed ${format(last("engine-speed"), "rpm", "metric")}  volts ${format(last(socketVoltage), "V", "metric")}`;
}
