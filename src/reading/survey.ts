/** What the modules said when they were asked once, from a recording: the latest answer to each question counts. */
import { joinMultipart, type MessagePiece } from "../../adapters/framing/index.ts";
import { protocols } from "../../shared/protocols.ts";
import { foldSurvey, type Survey, type SurveyAnswer } from "../../shared/survey.ts";
import { socketVoltage } from "../../shared/decode.ts";
import type { ServiceAnswer, BrokenAnswer, Read } from "./read.ts";
import { brokenIn } from "./replies.ts";

export interface RecordedSurvey {
  readonly survey: Survey;
  /** When the latest of it was said; milliseconds since the start. */
  readonly t: number;
}

/** Readiness is asked with service 01, so it stands among the channels. */
const readiness = [
  { channel: "monitors", pid: 0x01 },
  { channel: "monitors-cycle", pid: 0x41 },
] as const;

/** Services whose answers belong to a survey, as they begin. */
const services: ReadonlySet<number> = new Set([0x42, 0x43, 0x45, 0x46, 0x47, 0x49, 0x4a, 0x59, 0x62]);

/** Null when no module was asked for codes. */
export function surveyOf(reading: Read): RecordedSurvey | null {
  const { protocol } = reading;
  const latest = latestAnswers(reading.answers);
  if ((latest.length === 0 && reading.broken.length === 0) || protocol === null) return null;
  const { whole, parts } = joined(latest);
  const answers = [...statusOf(reading), ...whole];
  const t = [...latest, ...reading.broken].reduce((last, answer) => Math.max(last, answer.t), 0);
  const volts = reading.channels.find(socketVoltage)?.at(t)?.value ?? Number.NaN;
  const broken = [...reading.broken, ...parts];
  const can = protocols[protocol].family === "can";
  return { survey: foldSurvey(answers, can, Number.isNaN(volts) ? null : volts, broken), t };
}

/** Messages of the last time that each question was answered; the count behind a question makes no other one of it. */
function latestAnswers(answers: readonly ServiceAnswer[]): ServiceAnswer[] {
  const last = new Map<string, ServiceAnswer[]>();
  for (const answer of answers) {
    const service = answer.data[0] ?? 0;
    // A module's no to service 19 belongs to it as well.
    if (!services.has(service) && !(service === 0x7f && answer.data[1] === 0x19)) continue;
    const { ask } = answer;
    const question = ask.length % 2 === 1 ? ask.slice(0, -1) : ask;
    const before = last.get(question);
    if (before?.[0]?.t === answer.t) before.push(answer);
    else last.set(question, [answer]);
  }
  return [...last.values()].flat();
}

/** `parts`: numbered messages of which one is missing. */
function joined(answers: readonly ServiceAnswer[]): { whole: SurveyAnswer[]; parts: BrokenAnswer[] } {
  const byTime = new Map<number, { ask: string; pieces: MessagePiece[] }>();
  for (const { t, ask, module, data } of answers) {
    const one = byTime.get(t) ?? { ask, pieces: [] };
    one.pieces.push({ kind: "message", module, data, lines: [] });
    byTime.set(t, one);
  }
  const whole: SurveyAnswer[] = [];
  const parts: BrokenAnswer[] = [];
  for (const [t, { ask, pieces }] of byTime) {
    const made = joinMultipart(pieces);
    parts.push(...brokenIn(made, { t, ask }));
    for (const piece of made)
      if (piece.kind === "message") whole.push({ module: piece.module, data: piece.data });
  }
  return { whole, parts };
}

function statusOf({ channels }: Read): SurveyAnswer[] {
  return readiness.flatMap(({ channel, pid }) =>
    channels.of(channel).flatMap((series) => {
      const raw = series.values.findLast((value) => !Number.isNaN(value));
      if (raw === undefined) return [];
      const bits = [24, 16, 8, 0].map((shift) => Math.floor(raw / 2 ** shift) % 256);
      return [{ module: series.module, data: Uint8Array.from([0x41, pid, ...bits]) }];
    }),
  );
}
