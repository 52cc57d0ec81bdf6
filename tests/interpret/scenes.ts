/**
 * Scripted stretches of readings for tests of the folds. Not an engine: each stretch says outright what its
 * channels read, so that a test knows what it asks for.
 */
import { ChannelStore } from "../../shared/channels.ts";
import { channelInfo } from "../../shared/decode.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import type { VehicleFacts } from "../../shared/vehicle.ts";
import { seeded } from "../../shared/seeded.ts";
import { interpret, type Findings, type Sign } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";

export interface Stretch {
  readonly seconds: number;
  /** Value of each channel at `s` seconds into the stretch; NaN is asked and not answered. */
  readonly channels: Readonly<Record<string, (s: number) => number>>;
}

const steady = (value: number) => (): number => value;

export const keyOn = (seconds: number, volts = 12.5): Stretch => ({
  seconds,
  channels: {
    "engine-speed": steady(0),
    "module-voltage": steady(volts),
    manifold: steady(101),
    barometric: steady(101),
    coolant: steady(20),
    throttle: steady(16),
    "vehicle-speed": steady(0),
  },
});

export const crank = (seconds: number, rpm = 210, volts = 10.6): Stretch => ({
  seconds,
  channels: {
    ...keyOn(seconds).channels,
    "engine-speed": steady(rpm),
    "module-voltage": steady(volts),
    manifold: steady(92),
  },
});

export const idle = (seconds: number, rpm = 750, coolant = 88): Stretch => ({
  seconds,
  channels: {
    ...keyOn(seconds).channels,
    "engine-speed": steady(rpm),
    "module-voltage": steady(14),
    manifold: steady(33),
    coolant: steady(coolant),
    load: steady(24),
  },
});

export const drive = (seconds: number, rpm = 2000): Stretch => ({
  seconds,
  channels: {
    ...idle(seconds).channels,
    "engine-speed": (s) => rpm + 20 * Math.sin(s),
    throttle: steady(28),
    "vehicle-speed": steady(60),
    manifold: steady(55),
    load: steady(45),
  },
});

export interface Taken {
  readonly channel: string;
  readonly t: number;
  readonly value: number;
}

/** The stretches one after another, every channel at `rate` readings a second, channels taking turns. */
export function script(stretches: readonly Stretch[], rate: number): { samples: Taken[]; until: number } {
  const samples: Taken[] = [];
  const step = 1000 / rate;
  const until = stretches.reduce((sum, s) => sum + s.seconds * 1000, 0);
  const names = [...new Set(stretches.flatMap((s) => Object.keys(s.channels)))];
  for (let round = 0; round * step < until; round++) {
    names.forEach((channel, i) => {
      const t = Math.round((round + i / names.length) * step * 1000) / 1000;
      let begin = 0;
      const stretch = stretches.find((s) => {
        if (t < begin + s.seconds * 1000) return true;
        begin += s.seconds * 1000;
        return false;
      });
      const value = stretch?.channels[channel]?.((t - begin) / 1000);
      if (value !== undefined) samples.push({ channel, t, value });
    });
  }
  return { samples, until };
}

export function storeOf(samples: readonly Taken[]): ChannelStore {
  const store = new ChannelStore();
  for (const { channel, t, value } of samples)
    store.append(channel, channel === "socket-voltage" ? "adapter" : "7E8", t, value);
  return store;
}

export interface Extra {
  readonly marks?: readonly { readonly at: number; readonly until: number; readonly label: string }[];
  readonly vehicle?: VehicleFacts;
  readonly events?: readonly RecordingEvent[];
}

const unitOf = (channel: string): string => channelInfo(channel)?.unit ?? "count";

/** The events of a recording that says just this, in the order of time. */
export function eventsOf(samples: readonly Taken[], extra: Extra = {}): RecordingEvent[] {
  const events: RecordingEvent[] = samples.map(({ channel, t, value }) => ({
    k: "s",
    t,
    ch: channel,
    v: Number.isNaN(value) ? null : value,
    u: unitOf(channel),
  }));
  events.push(...(extra.events ?? []));
  events.sort((a, b) => a.t - b.t);
  const end = events.at(-1)?.t ?? 0;
  extra.marks?.forEach((mark, i) => events.push({ k: "mark", t: end, id: `m${i}`, ...mark }));
  if (extra.vehicle !== undefined) events.push({ k: "facts", t: end, facts: { vehicle: extra.vehicle } });
  return events;
}

/** Stretches, read back as a recording. */
export function readingOf(stretches: readonly Stretch[], rate: number, extra: Extra = {}): Reading {
  const reading = new Reading("a test");
  for (const event of eventsOf(script(stretches, rate).samples, extra)) reading.event(event);
  return reading;
}

/** Findings of stretches. */
export function findingsOf(stretches: readonly Stretch[], rate: number, extra: Extra = {}): Findings {
  return interpret(readingOf(stretches, rate, extra));
}

/** The signs of one id. */
export function signsOf(findings: Findings, id: string): Sign[] {
  return findings.signs.filter((s) => s.id === id);
}

/** Changes some channels of a stretch. */
export function but(stretch: Stretch, channels: Stretch["channels"]): Stretch {
  return { ...stretch, channels: { ...stretch.channels, ...channels } };
}

/** Gaussian numbers from a seed. */
export function gaussian(seed: number): () => number {
  const random = seeded(seed);
  return () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}
