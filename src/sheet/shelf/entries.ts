/**
 * What a recording or a job is found by: what the analyst says of it, kept beside it as an index of its own. It is no part
 * of what is verified, can be deleted at any time, and is made again when it is needed. Pure.
 */
import { z } from "zod/mini";
import type { VehicleFacts } from "../../../shared/vehicle.ts";
import type { Analyst } from "../../analyst/index.ts";
import { complaintsInWords } from "../../interpret/causes/complaint.ts";
import { cranksText, soundOf } from "./words.ts";
import { inOrder, type JobDocument } from "../job.ts";
import { foundOf, isMended, latestAdvice } from "../note/found.ts";

/** Raised when what is worked out or how it is kept changes: older ones are made again. */
export const entryVersion = 1;

const text = z.string();
const vehicle = z.object({
  name: text,
  vin: text,
  year: z.optional(z.number()),
  cylinders: z.optional(z.number()),
  displacementL: z.optional(z.number()),
  fuel: z.optional(text),
});
const common = {
  version: z.literal(entryVersion),
  /** Size and time of change of what it is about: another, and it is made again. */
  stamp: text,
  /** ISO 8601 with zone. */
  started: text,
  vehicle,
  complaint: text,
  /** Ids of the table of complaints. */
  complaints: z.array(text),
};

export const recordingEntrySchema = z.object({
  ...common,
  kind: z.literal("recording"),
  /** Which own ranges of the vehicle it was judged with, and their state; without it the trade's alone. */
  normal: z.optional(text),
  invented: z.boolean(),
  lengthMs: z.number(),
  happened: text,
  codes: z.array(text),
  /** What is off, in the order of the findings. */
  signs: z.array(z.object({ id: text, verdict: text, title: text, cylinder: z.optional(z.number()) })),
  /** What would be thought of first, by this recording alone. */
  causes: z.array(z.object({ id: text, name: text, share: z.number() })),
  marks: z.array(text),
  /** It starts, nothing is outside its range, and no DTC is told. */
  sound: z.boolean(),
  /** Coolant at the first crank, else at the beginning, °C. */
  coolant: z.nullable(z.number()),
});

export const jobEntrySchema = z.object({
  ...common,
  kind: z.literal("job"),
  archived: z.boolean(),
  mended: z.boolean(),
  /** Files of its recordings. */
  recordings: z.array(text),
  causes: z.array(z.object({ id: z.nullable(text), name: text, standing: text })),
  /** How it ended, in one line; empty where nothing was found. */
  found: text,
  /** Who is concerned, and all that a person wrote. */
  who: text,
  notes: text,
});

export const shelfEntrySchema = z.discriminatedUnion("kind", [recordingEntrySchema, jobEntrySchema]);
export type RecordingShelfEntry = z.infer<typeof recordingEntrySchema>;
export type JobShelfEntry = z.infer<typeof jobEntrySchema>;
export type ShelfEntry = z.infer<typeof shelfEntrySchema>;

const mostCauses = 5;
const mostText = 20_000;

function vehicleOf(facts: VehicleFacts): z.infer<typeof vehicle> {
  const { name = "", vin = "", year, cylinders, displacementL, fuel } = facts;
  return {
    ...{ name, vin },
    ...(year === undefined ? {} : { year }),
    ...(cylinders === undefined ? {} : { cylinders }),
    ...(displacementL === undefined ? {} : { displacementL }),
    ...(fuel === undefined ? {} : { fuel }),
  };
}

/** `normal`: what the analyst reads it by, in words of whoever keeps that. */
export function recordingEntry(analyst: Analyst, stamp: string, normal?: string): RecordingShelfEntry {
  const { reading, started, facts, vehicle } = analyst;
  const findings = analyst.findings();
  const complaint = (facts.complaint ?? "").slice(0, 4000);
  const complaints = [...analyst.complaints(complaint)];
  const { sound, coolant } = soundOf(findings, reading);
  const advice = complaints.length === 0 ? null : analyst.advice({ complaints, options: { steady: false } });
  return {
    version: entryVersion,
    kind: "recording",
    ...(normal === undefined ? {} : { normal }),
    ...{ stamp, started, vehicle: vehicleOf(vehicle), complaint, complaints, sound, coolant },
    invented: reading.invented,
    lengthMs: Math.round(reading.lastTime),
    happened: cranksText(findings),
    codes: [...new Set(findings.codes.map((c) => c.code))],
    signs: findings.signs
      .filter((s) => s.verdict === "outside" || s.verdict === "near")
      .map(({ id, verdict, title, cylinder }) => ({
        ...{ id, verdict, title },
        ...(cylinder === undefined ? {} : { cylinder }),
      })),
    causes: (advice?.causes ?? [])
      .slice(0, mostCauses)
      .map(({ id, name, standing }) => ({ id, name, share: standing.share })),
    marks: reading.marks.map((m) => m.label),
  };
}

export function jobEntry(job: JobDocument, stamp: string): JobShelfEntry {
  const complaint = (job.texts.complaint ?? "").slice(0, 4000);
  const chosen = job.advice.complaints;
  const said = complaintsInWords(complaint);
  const found = foundOf(job);
  const told = inOrder(job.causes).map(({ cause, name, standing }) => ({ id: cause, name, standing }));
  const shown =
    found === null || told.some((t) => t.name === found.name || t.id === found.cause)
      ? told
      : [...told, { id: found.cause, name: found.name, standing: found.standing }];
  return {
    version: entryVersion,
    kind: "job",
    ...{ stamp, started: job.created, vehicle: vehicleOf(job.vehicle), complaint },
    complaints: [...(chosen ?? (said.length > 0 ? said : (latestAdvice(job)?.complaints ?? [])))],
    archived: job.archived,
    mended: isMended(job),
    recordings: inOrder(job.recordings).map(({ tie }) => tie.file),
    causes: shown,
    found: found === null ? "" : `${found.name}: ${found.standing}`,
    who: Object.values(job.who).join(" ").trim(),
    notes: notesOf(job).slice(0, mostText),
  };
}

/** All that a person wrote on the sheet. */
function notesOf(job: JobDocument): string {
  const { texts, entries, checks, clips, photos, log, front = {} } = job;
  return [
    ...Object.values(texts),
    ...Object.values(front),
    ...inOrder(entries).map((e) => e.words),
    ...inOrder(checks).flatMap((c) => [c.name, c.seen, c.notes]),
    ...inOrder(job.causes).map((c) => c.proof),
    ...[...inOrder(clips), ...inOrder(photos)].map((c) => c.caption),
    ...inOrder(log).map((item) => item.entry.words ?? ""),
  ]
    .filter((one) => one !== undefined && one.trim() !== "")
    .join("\n");
}
