/** A recording held against what is normal for its vehicle: the signs say which range they used. */
import { round } from "../folds/figureReadings.ts";
import type { OwnBand, Sign, Verdict } from "../report/schema.ts";
import { makeSign, type Side } from "../report/sign.ts";
import type { SignId } from "../tables/signs.ts";
import { kindOfFigure, type NormalFigure, type RecordingNormal } from "./gather.ts";
import type { Learned, Normal } from "./learn.ts";
import { normalLimits, normalRows, type FigureRow } from "./table.ts";

interface Held {
  readonly figure: NormalFigure;
  readonly own: OwnBand;
  readonly verdict: Verdict;
  readonly side: Side;
}

/** The signs with the vehicle's own band beside the trade's, and with those that only it shows. */
export function heldAgainst(signs: readonly Sign[], here: RecordingNormal, normal: Normal): Sign[] {
  let list = [...signs];
  for (const figure of judged(here, normal)) {
    const learned = normal.figures.find((l) => l.of === figure.of);
    if (learned === undefined) continue;
    const held = holdUp(figure, learned, otherDay(here, normal));
    const key = keyOf(held);
    const index = list.findIndex((s) => sameFigure(s, figure.of, key));
    const before = list[index];
    const after = stated(held, before, key);
    if (after === null) continue;
    list = before === undefined ? [...list, after] : list.map((s, i) => (i === index ? after : s));
  }
  return list;
}

/** Of the zones of load the greatest that enough recordings know: the others say the same with less. */
function judged({ figures }: RecordingNormal, normal: Normal): NormalFigure[] {
  const zoneOf = (of: string): number => Number(of.split("/")[1]);
  const known = normal.figures.filter(
    (l) =>
      kindOfFigure(l.of) === "load-manifold" &&
      l.recordings >= Math.max(normalLimits.leastRecordings, normal.recordings.length / 2),
  );
  const zones = known.map((l) => zoneOf(l.of)).sort((a, b) => b - a);
  const zone = zones.find((z) => figures.some((f) => f.of === `load-manifold/${z}`));
  return figures.filter(
    (f) => kindOfFigure(f.of) !== "load-manifold" || (zone !== undefined && zoneOf(f.of) === zone),
  );
}

/** Why a recording of this temperature is not held against it, or null. */
function otherDay({ temperature }: RecordingNormal, normal: Normal): string | null {
  const learned = normal.temperature;
  if (temperature === null || learned === null) return null;
  const off = Math.max(learned.low - temperature, temperature - learned.high);
  if (off <= normalLimits.temperature) return null;
  return `It was learned at ${learned.low.toFixed(0)} to ${learned.high.toFixed(0)} °C and is ${temperature.toFixed(0)} °C here: the trade's range is used.`;
}

function holdUp(figure: NormalFigure, learned: Learned, other: string | null): Held {
  const { outside, near, leastRecordings } = normalLimits;
  const row: FigureRow = normalRows[kindOfFigure(figure.of)];
  const off = (figure.value - learned.level) / learned.spread;
  const far = row.highOnly === true ? off : Math.abs(off);
  const few = learned.recordings < leastRecordings;
  const used = !few && other === null;
  const count = `${learned.recordings} ${learned.recordings === 1 ? "recording" : "recordings"}`;
  const verdict: Verdict = far > outside ? "outside" : far > near ? "near" : "within";
  return {
    figure,
    verdict,
    side: off < 0 ? "low" : "high",
    own: {
      of: row.name,
      low: round(learned.level - outside * learned.spread, 3),
      high: round(learned.level + outside * learned.spread, 3),
      unit: learned.unit,
      level: learned.level,
      spread: learned.spread,
      recordings: learned.recordings,
      value: round(figure.value, 3),
      used,
      words: few
        ? `This vehicle, ${count}: too few to judge by, the trade's range is used.`
        : `This vehicle, ${count}. ${other ?? `${Math.abs(off).toFixed(1)} spreads ${off < 0 ? "below" : "above"} its usual level.`}`,
    },
  };
}

/** The part of a sign's key behind the id. */
function ofSign(of: string): string | undefined {
  const rest = of.split("/").slice(1).join("/");
  return kindOfFigure(of) === "load-manifold" || rest === "" ? undefined : rest;
}

function signOf({ figure, side }: Held): SignId {
  const kind = kindOfFigure(figure.of);
  if (kind === "trim") return side === "high" ? "mixture.lean" : "mixture.rich";
  return normalRows[kind].sign;
}

function keyOf(held: Held): string {
  const of = ofSign(held.figure.of);
  const id = signOf(held);
  return of === undefined ? id : `${id}/${of}`;
}

/** The sign that speaks of the same figure by the trade's range. */
function sameFigure(sign: Sign, of: string, key: string): boolean {
  if (sign.key === key) return true;
  if (kindOfFigure(of) !== "trim") return false;
  return ["mixture.trims", "mixture.lean", "mixture.rich"].some(
    (id) => sign.key === `${id}/${ofSign(of) ?? ""}`,
  );
}

const usual = "Usual for this vehicle, and outside the trade's range.";

/** The sign as both ranges have it; null where neither says anything. */
function stated(held: Held, trade: Sign | undefined, key: string): Sign | null {
  const { own, verdict } = held;
  if (!own.used) return trade === undefined ? null : { ...trade, own };
  // What the trade's rule gives a reason for, such as a speed that is held on purpose, its own band does not overrule.
  const excused = trade?.verdict === "near" && trade.side === "high" && trade.note !== undefined;
  if (trade !== undefined && (verdict !== "outside" || excused)) {
    if (trade.verdict === "outside") return { ...trade, verdict: "near", note: usual, own };
    const worse = excused || verdict === "near" ? "near" : "within";
    if (worse === "near" && trade.verdict !== "near") return fromOwn(held, "near", trade, key);
    return trade.verdict === "cannot-tell" ? fromOwn(held, worse, trade, key) : { ...trade, own };
  }
  return fromOwn(held, verdict, trade, key);
}

function fromOwn(held: Held, verdict: Verdict, trade: Sign | undefined, key: string): Sign {
  const { figure, own, side } = held;
  const row = normalRows[kindOfFigure(figure.of)];
  const id = verdict === "within" && kindOfFigure(figure.of) === "trim" ? "mixture.trims" : signOf(held);
  const sign = makeSign(id, {
    verdict,
    side,
    windows: figure.windows,
    channels: trade?.channels ?? row.channels,
    measured: {
      value: own.value,
      unit: own.unit,
      what: row.name,
      samples: figure.readings,
      rate: trade?.measured?.rate ?? null,
    },
    range: {
      low: own.low,
      high: own.high,
      unit: own.unit,
      source: `this vehicle, ${own.recordings} recordings`,
      replaced: true,
    },
    ...(trade?.bank === undefined ? {} : { bank: trade.bank }),
  });
  const of = ofSign(figure.of);
  return {
    ...sign,
    key: of === undefined ? key : `${id}/${of}`,
    own,
    ...(trade === undefined || trade.range === null ? {} : { trade: trade.range }),
  };
}
