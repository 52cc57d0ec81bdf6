/** A session against a hostile line, and what was drawn of it beside what was sent. */
import { VirtualClock } from "../../adapters/link/index.ts";
import { Session } from "../../adapters/polling/session.ts";
import { eventLine, headerLine, type RecordingEvent } from "../../shared/recording/format.ts";
import { Reading } from "../../src/reading/index.ts";
import { header } from "../reading/support.ts";
import { Chance } from "../reliability/mutate.ts";
import { HostileAdapter, type HostileFault, type Told } from "./hostile.ts";
import { mayLeave } from "./mayLeave.ts";

export interface HostileResult {
  /** Values that were drawn. */
  drawn: number;
  /** Those that nobody sent in answer to the question at which they are drawn, in words. */
  wrong: string[];
  /** The same, where bytes had been changed for others: no sum covers them. */
  changed: number;
  /** Requests that reached the bus. */
  requests: number;
  /** Those that are on no list. */
  others: string[];
  /** Faults that were put on the line. */
  spoilt: number;
  /** Of its clock. */
  minutes: number;
  /** What the program told. */
  readonly notices: string[];
}

export interface HostileRun {
  readonly seed: number;
  readonly faults: readonly HostileFault[];
  readonly share: number;
  readonly lagMs?: number;
  /** Of the virtual clock. */
  readonly forMs: number;
}

export async function runHostile({
  seed,
  faults,
  share,
  lagMs = 0,
  forMs,
}: HostileRun): Promise<HostileResult> {
  const clock = new VirtualClock(Date.UTC(2026, 0, 5), 64);
  const adapter = new HostileAdapter({ clock, chance: new Chance(seed), faults, share, lagMs });
  const events: RecordingEvent[] = [];
  const sink = { zeroMs: clock.now(), append: (event: RecordingEvent) => void events.push(event) };
  const session = new Session({ open: () => adapter.open(), address: "tcp:hostile:1", clock, sink });
  await clock.run(session.connect());
  adapter.quiet = false;
  session.start(sink);
  const until = clock.now() + forMs;
  await clock.run(() => clock.now() >= until, forMs + 60_000);
  await clock.run(session.close());
  const result: HostileResult = {
    ...{ drawn: 0, wrong: [], changed: 0, spoilt: adapter.spoilt, minutes: clock.now() / 60_000 },
    requests: adapter.bus.length,
    others: adapter.bus.filter((command) => !mayLeave(command)),
    notices: events.flatMap((event) => (event.k === "notice" ? [event.text] : [])),
  };
  compare(events, adapter.told, result);
  return result;
}

/** Each exchange is one write; what the adapter took of it, and told, is the truth for what is drawn there. */
function compare(events: readonly RecordingEvent[], told: readonly Told[], result: HostileResult): void {
  const byWrite = new Map<number, Told[]>();
  for (const one of told) byWrite.set(one.write, [...(byWrite.get(one.write) ?? []), one]);
  const reading = new Reading("hostile");
  reading.push(headerLine(header));
  const seen = new Map<string, number>();
  let write = -1;
  for (const event of events) {
    if (event.k === "x") write += 1;
    reading.push(eventLine(event));
    for (const series of reading.channels.all()) {
      const key = `${series.channel} ${series.module}`;
      for (let i = seen.get(key) ?? 0; i < series.length; i++) {
        const value = series.values[i] ?? Number.NaN;
        if (Number.isNaN(value)) continue;
        result.drawn += 1;
        const mine = byWrite.get(write) ?? [];
        const sent = mine.flatMap(({ values }) => values.get(series.channel) ?? []);
        if (sent.some((one) => Math.abs(one - value) < 1e-9)) continue;
        if (mine.some(({ changed }) => changed)) result.changed += 1;
        else
          result.wrong.push(
            `${series.channel} ${value} (sent: ${sent.join(" ")}; took: ${mine.map((m) => m.command).join(" ")}) in ${eventLine(event).trim()}`,
          );
      }
      seen.set(key, series.length);
    }
  }
}
