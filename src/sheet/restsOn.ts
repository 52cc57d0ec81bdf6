/** Which findings of which recording the likely causes rest on. Pure. */
import type { Advice } from "../interpret/causes/adviceSchema.ts";
import type { HeardRecording } from "../interpret/causes/evidence.ts";
import type { Comparison, Crank, Sign, Wiggle } from "../interpret/report/schema.ts";

import { inOrder, type JobDocument } from "./job.ts";
import { saysOf } from "./snapshot.ts";

export interface Rests {
  readonly file: string;
  readonly signs: readonly Sign[];
  readonly cranks: readonly Crank[];
  readonly comparisons: readonly Comparison[];
  /** Harnesses and plugs that were moved by hand. */
  readonly wiggles: readonly Wiggle[];
  /** What the modules say. */
  readonly modules: boolean;
}

/** More attempts than these say nothing more. */
const mostCranks = 12;
const aboutStarting: ReadonlySet<string> = new Set(["no-start", "starts-and-dies"]);

/**
 * What speaks for or against any cause that is listed, recording by recording; what was entered by hand is on the sheet
 * already. Recordings that nothing rests on are left out.
 */
export function restsOn(advice: Advice, heard: readonly HeardRecording[]): Rests[] {
  const said = advice.causes.flatMap((cause) => [...cause.for, ...cause.against]);
  const named = (source: string): string[] => said.filter((e) => e.source === source).map((e) => e.of);
  const keys = new Set(named("sign"));
  const marks = new Set(named("marked").flatMap((of) => of.split(" ")));
  const codes = named("code").join(" ");
  const starting = advice.complaints.some((c) => aboutStarting.has(c));
  return heard
    .map(({ recording, findings }): Rests => ({
      file: recording,
      signs: findings.signs.filter((s) => keys.has(s.key) && s.verdict !== "cannot-tell"),
      cranks: starting ? findings.cranks.slice(0, mostCranks) : [],
      comparisons: findings.comparisons.filter((c) => marks.has(c.markId)),
      wiggles: (findings.wiggles ?? []).filter((w) => marks.has(w.markId)),
      modules: findings.codes.some(({ code }) => codes.includes(code)),
    }))
    .filter(
      (r) => r.modules || r.signs.length + r.cranks.length + r.comparisons.length + r.wiggles.length > 0,
    );
}

/** Without what stands on the sheet already: it keeps its place and its words. */
export function notYetOn(job: JobDocument, rests: Rests): Rests {
  const said = inOrder(job.entries)
    .filter((e) => e.tie.file === rests.file)
    .flatMap((e) => saysOf(e.says) ?? []);
  const signs = new Set(said.flatMap((s) => (s.kind === "sign" ? [s.sign.key] : [])));
  const cranks = new Set(said.flatMap((s) => (s.kind === "crank" ? [s.crank.number] : [])));
  const marks = new Set(said.flatMap((s) => (s.kind === "comparison" ? [keyOf(s.comparison)] : [])));
  const moved = new Set(said.flatMap((s) => (s.kind === "wiggle" ? [s.wiggle.markId] : [])));
  return {
    file: rests.file,
    signs: rests.signs.filter((s) => !signs.has(s.key)),
    cranks: rests.cranks.filter((c) => !cranks.has(c.number)),
    comparisons: rests.comparisons.filter((c) => !marks.has(keyOf(c))),
    wiggles: rests.wiggles.filter((w) => !moved.has(w.markId)),
    modules: rests.modules && !said.some((s) => s.kind === "modules"),
  };
}

const keyOf = ({ markId, channel, of }: Comparison): string => `${markId} ${channel} ${of}`;
