/** Short and long trim are compared as the sum that they are. */
import { expect, test } from "vitest";
import { ChannelStore } from "../../shared/channels.ts";
import { beforeAndAfter } from "../../src/interpret/causes/beforeAfter.ts";
import { markedResults } from "../../src/interpret/causes/marked.ts";
import { interpret } from "../../src/interpret/index.ts";
import { hasLong, seriesNamed } from "../../src/interpret/mixture/correction.ts";
import { but, crank, findingsOf, gaussian, idle, keyOn, readingOf, type Stretch } from "./scenes.ts";

function store(long: readonly (readonly [number, number])[]): ChannelStore {
  const channels = new ChannelStore();
  for (let t = 0; t <= 30_000; t += 1000)
    channels.append("trim-short-b1", "7E8", t, t === 5000 ? Number.NaN : 2);
  for (const [t, value] of long) channels.append("trim-long-b1", "7E8", t, value);
  return channels;
}

test("the sum takes the long trim that was read beside it, and leaves out what has none", () => {
  const sum = seriesNamed(
    store([
      [4000, 6],
      [20_000, -1],
    ]),
    "correction-b1",
    40_000,
  );
  const pairs = [...(sum?.times ?? [])].map((t, i) => [t, sum?.values[i]]);
  // Eight seconds behind the long trim's reading it is old, and no answer is no value.
  expect(pairs.map(([t]) => t)).toEqual([
    4000, 6000, 7000, 8000, 9000, 10_000, 11_000, 12_000, 20_000, 21_000, 22_000, 23_000, 24_000, 25_000,
    26_000, 27_000, 28_000,
  ]);
  expect(new Set(pairs.slice(0, 8).map(([, v]) => v))).toEqual(new Set([8]));
  expect(pairs.at(-1)?.[1]).toBe(1);
});

test("without a long trim the short one is all there is; one that comes later changes nothing of it", () => {
  const alone = seriesNamed(store([]), "correction-b1", 10_000);
  expect(alone?.length).toBe(10);
  const later = seriesNamed(store([[20_000, 6]]), "correction-b1", 10_000);
  expect([...(later?.values ?? [])]).toEqual([...(alone?.values ?? [])]);
  expect(seriesNamed(store([]), "correction-b2", 10_000)).toBeUndefined();
  expect([hasLong(store([]), "correction-b1"), hasLong(store([[1, 1]]), "correction-b1")]).toEqual([
    false,
    true,
  ]);
});

const trims = (seconds: number, short: (s: number) => number, long: (s: number) => number): Stretch => {
  const noise = gaussian(7);
  return but(idle(seconds), {
    "trim-short-b1": (s) => short(s) + 0.8 * noise(),
    "trim-long-b1": (s) => long(s),
    "fuel-system-1": () => 2,
  });
};

test("what the long trim took over is no change: sealed, and the sum is as before", () => {
  // At 60 s the module moves ten points from the short trim to the long one, as it does when it learns; the mark is by chance there.
  const learnt = trims(
    160,
    (s) => (s < 60 ? 12 : 2),
    (s) => (s < 60 ? 2 : 12),
  );
  const marks = [{ at: 66_000, until: 106_000, label: "intake sealed" }];
  const found = findingsOf([keyOn(5), crank(1), learnt], 4, { marks });
  const of = (channel: string): string | undefined =>
    found.comparisons.find((c) => c.channel === channel && c.of === "level")?.says;
  expect([of("trim-short-b1"), of("correction-b1")]).toEqual(["lower", "no-change-seen"]);
  expect(markedResults(found)[0]).toMatchObject({ check: "intake-sealed", outcome: "same" });
  // The hole that was lean is shut: the sum falls, whichever trim shows it.
  const shut = trims(
    160,
    (s) => (s < 60 ? 12 : 6),
    (s) => (s < 60 ? 2 : -4),
  );
  expect(markedResults(findingsOf([keyOn(5), crank(1), shut], 4, { marks }))[0]).toMatchObject({
    outcome: "changes",
  });
});

test("before and after: the sum stands there, and it is not held against a side without a long trim", () => {
  const side = (name: string, stretch: Stretch): Parameters<typeof beforeAndAfter>[0] => {
    const reading = readingOf([keyOn(5), crank(1), stretch], 4);
    return { name, channels: reading.channels, findings: interpret(reading) };
  };
  const before = side(
    "before",
    trims(
      60,
      () => 12,
      () => 2,
    ),
  );
  const after = side(
    "after",
    trims(
      60,
      () => 1,
      () => 13,
    ),
  );
  const sum = beforeAndAfter(before, after).rows.find(({ what }) => what === "total correction, bank 1");
  expect(sum).toMatchObject({ says: "no-change-seen" });
  expect(sum?.before.value).toBeCloseTo(14, 0);
  const channels = Object.entries(
    trims(
      60,
      () => 1,
      () => 13,
    ).channels,
  );
  const short = Object.fromEntries(channels.filter(([name]) => name !== "trim-long-b1"));
  const half = side("half", { seconds: 60, channels: short });
  expect(beforeAndAfter(before, half).rows.map(({ what }) => what)).not.toContain("total correction, bank 1");
});
