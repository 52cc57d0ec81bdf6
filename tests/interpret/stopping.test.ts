import { expect, test } from "vitest";
import { ChannelStore } from "../../shared/channels.ts";
import { regimeSpans } from "../../src/interpret/folds/regimeSpans.ts";
import { StopWatch } from "../../src/interpret/crank/stopping.ts";

interface Moment {
  readonly speed: number;
  readonly throttle?: number | undefined;
  readonly manifold?: number | undefined;
  readonly vehicle?: number | undefined;
  readonly pedal?: number | undefined;
}

/** One reading of each a second, as a slow logger reads; the last one stands still at 10 s. */
function watched(moments: readonly Moment[]): StopWatch {
  const watch = new StopWatch();
  moments.forEach((m, i) => {
    const t = 10_000 - (moments.length - 1 - i) * 1000;
    const put = (channel: string, value: number | undefined): void => {
      if (value !== undefined) watch.take(t, channel, value);
    };
    put("engine-speed", m.speed);
    put("throttle", m.throttle);
    put("manifold", m.manifold);
    put("vehicle-speed", m.vehicle);
    put("pedal-d", m.pedal);
  });
  return watch;
}

const shutOff = (moments: readonly Moment[], outside: number | null = null, stops?: boolean): boolean =>
  watched(moments).wasShutOff(10_000, 11_000, outside, stops);

/** As an open data set of a diesel shows it (DOI 10.35097/1130), rounded. */
const rolling = [16, 14, 11, 8, 3].map((vehicle) => ({
  speed: 899,
  throttle: 83.5,
  manifold: 102,
  vehicle,
  pedal: 14.1,
}));
const commanded: Moment[] = [
  ...rolling,
  { speed: 847, throttle: 13.7, manifold: 102, vehicle: 0, pedal: 14.1 },
  { speed: 393, throttle: 13.7, manifold: 36, vehicle: 0, pedal: 14.1 },
  { speed: 0, throttle: 13.7, manifold: 43, vehicle: 0, pedal: 14.1 },
];

test("a plate that closes before the last turn at standstill is a command, by the plate or the manifold alone", () => {
  expect(shutOff(commanded)).toBe(true);
  expect(shutOff(commanded.map((m) => ({ ...m, throttle: undefined })))).toBe(true);
  expect(shutOff(commanded.map((m) => ({ ...m, manifold: undefined })))).toBe(true);
  expect(
    shutOff(
      commanded.map((m) => ({ ...m, manifold: (m.manifold ?? 0) - 25 })),
      77,
    ),
  ).toBe(true);
});

test("the same engine that dies by itself turns no plate", () => {
  const dies = commanded.map((m) => ({ ...m, throttle: 83.5, manifold: 100 }));
  expect(shutOff(dies)).toBe(false);
});

test("moving off with the clutch let out too far is a stall, whatever the plate does then", () => {
  const clutch = [
    { speed: 1042, throttle: 83.5, manifold: 104, vehicle: 1, pedal: 22.7 },
    { speed: 969, throttle: 83.5, manifold: 107, vehicle: 2, pedal: 22.7 },
    { speed: 905, throttle: 83.5, manifold: 108, vehicle: 4, pedal: 23.1 },
    { speed: 368, throttle: 13.7, manifold: 108, vehicle: 5, pedal: 14.1 },
    { speed: 0, throttle: 13.7, manifold: 103, vehicle: 1, pedal: 14.1 },
  ];
  expect(shutOff([...rolling.slice(0, 3), ...clutch])).toBe(false);
});

/** An engine with a throttle: lifted, idling, and gone. */
const petrol: Moment[] = [
  { speed: 2400, throttle: 42, manifold: 88, vehicle: 32, pedal: 40 },
  { speed: 1700, throttle: 15.7, manifold: 25, vehicle: 20, pedal: 16 },
  { speed: 900, throttle: 15.7, manifold: 28, vehicle: 8, pedal: 16 },
  { speed: 700, throttle: 15.7, manifold: 30, vehicle: 0, pedal: 16 },
  { speed: 702, throttle: 15.7, manifold: 30, vehicle: 0, pedal: 16 },
  { speed: 698, throttle: 15.7, manifold: 30, vehicle: 0, pedal: 16 },
  { speed: 0, throttle: 15.7, manifold: 80, vehicle: 0, pedal: 16 },
];

test("a throttled engine that is gone from idle is a stall, unless the facts say that it is shut off", () => {
  expect(shutOff(petrol)).toBe(false);
  expect(shutOff(petrol, 100, true)).toBe(true);
  expect(shutOff(petrol, 100, false)).toBe(false);
});

test("an idle that sinks first is a stall although the vehicle shuts its engine off at times", () => {
  const sinking = petrol.map((m, i) => (i < 3 ? m : { ...m, speed: [520, 430, 380, 0][i - 3] ?? 0 }));
  expect(shutOff(sinking, 100, true)).toBe(false);
});

test("shut off at standstill is a regime of its own, and what starts out of it is a start", () => {
  const store = new ChannelStore();
  const put = (from: number, moments: readonly Moment[]): void => {
    moments.forEach((m, i) => {
      const t = from + i * 1000;
      store.append("engine-speed", "7E8", t, m.speed);
      store.append("throttle", "7E8", t + 200, m.throttle ?? 0);
      store.append("manifold", "7E8", t + 400, m.manifold ?? 0);
      store.append("vehicle-speed", "7E8", t + 600, m.vehicle ?? 0);
    });
  };
  const driving = Array.from({ length: 20 }, () => ({ ...rolling[0], vehicle: 40, speed: 1500 }));
  const standing = { speed: 0, throttle: 89, manifold: 98, vehicle: 0 };
  put(0, [...driving, ...commanded, ...Array.from({ length: 15 }, () => standing), ...driving]);
  const spans = regimeSpans(store, 62_000).map((s) => s.regime);
  expect(spans).toContain("shut-off");
  expect(spans).not.toContain("stall");
  expect(spans.indexOf("run-up")).toBeGreaterThan(spans.indexOf("shut-off"));
});
