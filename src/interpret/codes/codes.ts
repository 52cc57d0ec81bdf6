/** Codes, freeze frame and how young the evidence is. */
import { troubleCodes } from "../../../shared/codes.ts";
import { identifiedCodes } from "../../../shared/identified.ts";
import { monitorStatus } from "../../../shared/enumerations.ts";
import { protocols } from "../../../shared/protocols.ts";
import { foldSurvey } from "../../../shared/survey.ts";
import type { Context } from "../folds/context.ts";
import type { Source } from "../folds/source.ts";
import { round } from "../folds/figureReadings.ts";
import type { Findings, Sign, Window } from "../report/schema.ts";
import { judge, makeSign } from "../report/sign.ts";
import { codeGroup } from "../tables/codes.ts";
import { ownSeries } from "../folds/windows.ts";

export type FoundCode = Findings["codes"][number];

const kinds: ReadonlyMap<number, FoundCode["kind"]> = new Map([
  [0x43, "stored"],
  [0x47, "pending"],
  [0x4a, "permanent"],
]);

export function isCan(source: Source): boolean {
  return source.protocol !== null && protocols[source.protocol].family === "can";
}

/** Every code that was told, each once a module and kind, at its first time. */
export function foundCodes(source: Source): FoundCode[] {
  const counted = isCan(source);
  const found = new Map<string, FoundCode>();
  for (const { t, module, data } of source.answers) {
    for (const [kind, codes] of toldIn(data, counted)) {
      for (const code of codes) {
        const key = `${module} ${kind} ${code}`;
        if (!found.has(key)) found.set(key, { code, module, kind, t });
      }
    }
  }
  return [...found.values()];
}

/** Codes of one answer by kind: of services 03, 07 and 0A, or of service 19 (SAE J1979-2). */
function toldIn(data: Uint8Array, counted: boolean): [FoundCode["kind"], readonly string[]][] {
  const kind = kinds.get(data[0] ?? 0);
  if (kind !== undefined) return [[kind, troubleCodes(data.subarray(1), counted)]];
  const told = identifiedCodes(data);
  if (told === null) return [];
  return [
    ["stored", told.stored],
    ["pending", told.pending],
    ["permanent", told.permanent ?? []],
  ];
}

/** Answers this close together belong to one round of questions, milliseconds. */
const roundMs = 30_000;

/** A window for each round in which codes were told: at key on, at the end, and whenever a person asked. */
function askedAt(times: readonly number[]): Window[] {
  const windows: Window[] = [];
  for (const t of [...times].sort((a, b) => a - b)) {
    const last = windows.at(-1);
    if (last !== undefined && t - last.to <= roundMs)
      windows[windows.length - 1] = { from: last.from, to: t };
    else windows.push({ from: t, to: t });
  }
  return windows;
}

export function codeSigns(codes: readonly FoundCode[], source: Source): Sign[] {
  const asked = source.answers.some((a) => kinds.has(a.data[0] ?? 0) || identifiedCodes(a.data) !== null);
  if (!asked) return [];
  const signs: Sign[] = [];
  for (const family of ["crank", "power", "sensor", "mixture", "misfire"] as const) {
    const mine = codes.filter((c) => codeGroup(c.code)?.family === family);
    const firm = mine.some((c) => c.kind !== "pending");
    if (mine.length === 0 && family !== "crank") continue;
    const times = mine.map((c) => c.t);
    const names = [...new Set(mine.map((c) => `${c.code} ${c.kind} (${codeGroup(c.code)?.words ?? ""})`))];
    const cylinders = [...new Set(mine.map((c) => cylinderOf(c.code)).filter((c) => c !== null))];
    const cylinder = cylinders.length === 1 ? cylinders[0] : undefined;
    signs.push(
      makeSign(`${family}.codes`, {
        verdict: mine.length === 0 ? "within" : firm ? "outside" : "near",
        windows: askedAt(times),
        measured: {
          value: null,
          unit: "code",
          what: names.length === 0 ? "no code" : names.join("; "),
          samples: mine.length,
          rate: null,
        },
        ...(cylinder === undefined ? {} : { cylinder }),
      }),
    );
  }
  return signs;
}

/** P0301 to P0312 name a cylinder. */
export function cylinderOf(code: string): number | null {
  const match = /^P03(0[1-9]|1[0-2])$/.exec(code);
  return match === null ? null : Number(match[1]);
}

type FreezeFrame = NonNullable<Findings["freezeFrame"]>;

/** The freeze frame of the first module that has one. */
export function freezeFrame(source: Source): FreezeFrame | null {
  const frames = source.answers.filter(
    (a) => a.data[0] === 0x42 || (a.data[0] === 0x59 && a.data[1] === 0x04),
  );
  for (const { module, freezeFrame: frame } of foldSurvey(frames, isCan(source), null).modules) {
    if (frame === null || frame.code === null) continue;
    const values = frame.values.map(({ channel, value, unit }) => ({
      channel,
      value: round(value, 4),
      unit,
    }));
    return { module, code: frame.code, values };
  }
  return null;
}

/** Load at which a frame was frozen, percent: at or near idle up to the one, pulling from the other on. Estimates. */
const frozenAt = { idle: 35, load: 65, idleRpm: 1100 } as const;

/** Where it was lean: a leak weighs most at idle, a lack of fuel where much is asked for (common practice). */
function placeSign(frame: FreezeFrame, value: (channel: string) => number | null): Sign[] {
  const load = value("load");
  const speed = value("engine-speed");
  if (load === null || speed === null) return [];
  const idles = load <= frozenAt.idle && speed <= frozenAt.idleRpm;
  const side = idles ? "low" : load >= frozenAt.load ? "high" : null;
  return [
    makeSign("mixture.freeze-place", {
      verdict: side === null ? "within" : "outside",
      ...(side === null ? {} : { side }),
      channels: ["load", "engine-speed"],
      measured: {
        value: round(load, 1),
        unit: "%",
        what: `load when ${frame.code} was stored, at ${round(speed, 0)} rpm`,
        samples: 1,
        rate: null,
      },
    }),
  ];
}

export function freezeSign(frame: FreezeFrame | null, context: Context): Sign[] {
  if (frame === null) return [];
  const value = (channel: string): number | null =>
    frame.values.find((v) => v.channel === channel)?.value ?? null;
  const short = value("trim-short-b1");
  const long = value("trim-long-b1");
  const range = context.ranges.figure("trim");
  const about = ["engine-speed", "load", "coolant", "vehicle-speed"]
    .flatMap((c) => frame.values.filter((v) => v.channel === c))
    .map((v) => `${v.channel} ${round(v.value, 1)} ${v.unit}`)
    .join(", ");
  const loop = value("fuel-system-1");
  const closed = loop === null || loop === 0x02 || loop === 0x10;
  const told = short !== null && long !== null && closed;
  const frozen = told ? judge(short + long, range) : null;
  // A frame that a sensor's circuit froze says where that was, and nothing of the mixture.
  const lean = frozen?.verdict === "outside" && frozen.side === "high";
  return [
    ...(lean ? placeSign(frame, value) : []),
    makeSign("mixture.freeze-frame", {
      ...(frozen ?? { verdict: "cannot-tell" as const }),
      channels: ["trim-short-b1", "trim-long-b1"],
      range,
      measured: {
        value: told ? round(short + long, 2) : null,
        unit: "%",
        what: `STFT and LTFT together when ${frame.code} was stored`,
        samples: 1,
        rate: null,
      },
      note: about === "" ? undefined : `Then: ${about}.`,
    }),
  ];
}

const youngWarmUps = 3;
const youngKm = 30;

/** Readiness all open, few warm-ups, little distance: somebody cleared, or the battery was off. */
export function youngSign(source: Source): Sign[] {
  const last = (channel: string): { t: number; value: number } | null => {
    const series = ownSeries(source.channels, channel);
    if (series === undefined) return null;
    for (let i = series.length - 1; i >= 0; i--) {
      const value = series.values[i] ?? Number.NaN;
      if (!Number.isNaN(value)) return { t: series.times[i] ?? 0, value };
    }
    return null;
  };
  const warmUps = last("warm-ups");
  const distance = last("distance-clear");
  const monitors = last("monitors");
  if (warmUps === null && distance === null && monitors === null) return [];
  const fitted =
    monitors === null
      ? []
      : monitorStatus(monitors.value)
          .monitors.slice(3)
          .filter((m) => m.state !== "not fitted");
  const open = fitted.filter((m) => m.state === "not complete");
  const said = [
    ...(warmUps === null ? [] : [`${warmUps.value} warm-ups`]),
    ...(distance === null ? [] : [`${distance.value} km`]),
    ...(monitors === null ? [] : [`${open.length} of ${fitted.length} monitors not complete`]),
  ];
  const young =
    (warmUps !== null && warmUps.value <= youngWarmUps) ||
    (distance !== null && distance.value <= youngKm) ||
    (fitted.length > 0 && open.length === fitted.length);
  const t = Math.max(...[warmUps, distance, monitors].map((r) => r?.t ?? 0));
  return [
    makeSign("power.memory-cleared", {
      verdict: young ? "near" : "within",
      windows: [{ from: t, to: t }],
      channels: ["monitors", "warm-ups", "distance-clear"],
      measured: {
        value: null,
        unit: "count",
        what: `since clearing: ${said.join(", ")}`,
        samples: said.length,
        rate: null,
      },
    }),
  ];
}
