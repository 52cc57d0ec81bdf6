/** A wiggle in one line: how many drop-outs with it and before, and how often that comes by itself. */
import { channelInfo } from "../../../shared/decode.ts";
import { withoutWiggled } from "./wiggleLabel.ts";
import type { Wiggle } from "../report/schema.ts";

const kindWords: Readonly<Record<Wiggle["drops"][number]["kinds"][number], string>> = {
  zero: "engine speed to zero",
  "no-answer": "no answer",
  step: "step",
  dead: "no data at all",
};

/** One of them, as it happens. */
export function dropWords({ kinds, channels }: Wiggle["drops"][number]): string {
  const names = channels.map((c) => channelInfo(c)?.name ?? c);
  const few =
    names.length > 3 ? `${names.slice(0, 3).join(", ")} and ${names.length - 3} more` : names.join(", ");
  const what = kinds.map((kind) => kindWords[kind]).join(", ");
  return few === "" || (kinds.length === 1 && kinds[0] === "zero") ? what : `${what}: ${few}`;
}

const times = (count: number): string => (count === 0 ? "no" : String(count));
const whole = (seconds: number): string => seconds.toFixed(0);

/** "harness at the bulkhead: 4 drop-outs in 12 s, none in 60 s before". */
export function wiggleCount({
  label,
  drops,
  seconds,
  before,
  beforeS,
}: Pick<Wiggle, "label" | "drops" | "seconds" | "before" | "beforeS">): string {
  const count = `${times(drops.length)} drop-out${drops.length === 1 ? "" : "s"} in ${whole(seconds)} s`;
  const earlier = beforeS < 1 ? "" : `, ${before === 0 ? "none" : before} in ${whole(beforeS)} s before`;
  return `${withoutWiggled(label)}: ${count}${earlier}`;
}

export function wiggleWords(wiggle: Omit<Wiggle, "words">): string {
  const { says, chance, rate, drops } = wiggle;
  const counted = wiggleCount(wiggle);
  const kinds = drops.flatMap((d) => d.kinds);
  const parts = [...new Set(kinds)].map(
    (kind) => `${kindWords[kind]} ${kinds.filter((k) => k === kind).length}`,
  );
  const what = parts.length === 0 ? "" : ` (${parts.join(", ")})`;
  switch (says) {
    case "comes-with-it":
      return `${counted}${what}. Chance alone does that in ${share(chance)} of tries: a contact opens there.`;
    case "perhaps":
      return `${counted}${what}. Chance alone does that in ${share(chance)} of tries: move it again, longer.`;
    case "as-before":
      return `${counted}${what}. As often as before: this place alone is not it.`;
    case "nothing":
      return `${counted}, of ${rate.toFixed(0)} readings a second. No proof that it is good: it may hold today.`;
    case "cannot-tell":
      return `${counted}${what}. Cannot tell: ${reason(wiggle)}.`;
  }
}

function share(chance: number | null): string {
  const percent = 100 * (chance ?? 1);
  if (percent < 0.1) return "less than 0.1 %";
  return `${percent.toFixed(percent < 1 ? 1 : 0)} %`;
}

function reason({ watched, seconds, beforeS }: Omit<Wiggle, "words">): string {
  if (watched.length === 0) return "nothing was read twice a second: read fewer channels";
  if (seconds < 4) return "it was moved for less than 4 s";
  return beforeS < 10
    ? "leave it alone for 10 s first, better half a minute, cranking or running as then"
    : "too little was read";
}
