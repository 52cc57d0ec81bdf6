/** From a job and its evidence to the note: which blocks stand in which part. Pure. */
import type { UnitSystem } from "../../../shared/units.ts";
import type { Sources } from "../evidence.ts";
import { inOrder, isInvented, type Clip, type JobDocument, type Photo } from "../job.ts";
import { maskedJob, maskOf, nothingMasked, type Masking } from "../mask.ts";
import { beforeOf } from "../snapshot.ts";
import { sections, sectionTitles, type SectionId } from "../sections.ts";
import type { Block, Note, Section } from "./blocks.ts";
import { chartBlock } from "./chartBlock.ts";
import { cautionsOf } from "./cautions.ts";
import { checkBlocks, causesTable, logBlocks } from "./checks.ts";
import { entryBlocks } from "./entries.ts";
import { benchWords, dateText, inventedWords, type Composing } from "./composing.ts";
import { factPairs } from "./facts.ts";

export interface NoteOptions {
  readonly system: UnitSystem;
  readonly masking?: Masking;
  /** ISO 8601 with zone: when the note was made. */
  readonly made: string;
  readonly writer: string;
}

export function composeNote(job: JobDocument, sources: Sources, options: NoteOptions): Note {
  const masking = options.masking ?? nothingMasked;
  const shown = maskedJob(job, masking);
  const composing: Composing = {
    job: shown,
    sources,
    system: options.system,
    mask: maskOf(job, masking),
    invented: inventedOf(job),
  };
  const media = new Media(composing);
  const parts = sections.flatMap((id): Section[] => {
    if (shown.leftOut[id] === true) return [];
    const blocks = [...sectionBlocks(id, composing, media), ...media.of(id)];
    return blocks.length === 0 ? [] : [{ id, title: sectionTitles[id], blocks }];
  });
  const { mechanic, customer } = shown.who;
  return {
    title:
      shown.vehicle.name === undefined || shown.vehicle.name === ""
        ? "Repair note"
        : `Repair note: ${shown.vehicle.name}`,
    lines: [
      `Begun ${dateText(job.created)}, written ${dateText(job.changed)}`,
      ...(mechanic === "" ? [] : [`By ${mechanic}`]),
      ...(customer === "" ? [] : [`For ${customer}`]),
      ...(maskNotice(masking) === "" ? [] : [maskNotice(masking)]),
    ],
    invented: composing.invented,
    sections: [...parts, sourcesSection(composing)],
    writer: `Made ${dateText(options.made)} by ${options.writer}; job ${shown.id}, version ${job.revision}.`,
  };
}

/** What the whole note says of made-up data, or null. */
export function inventedOf(job: JobDocument): string | null {
  if (!isInvented(job)) return null;
  const bench = inOrder(job.recordings).some((r) => r.invented && r.from.startsWith("bench:"));
  return bench ? benchWords : inventedWords;
}

function maskNotice({ vin, names, plate }: Masking): string {
  const hidden = [vin ? "the last six of the VIN" : "", names ? "names" : "", plate ? "the plate" : ""];
  const said = hidden.filter((text) => text !== "").join(", ");
  return said === "" ? "" : `Hidden in this copy: ${said}`;
}

function sectionBlocks(id: SectionId, composing: Composing, media: Media): Block[] {
  const { job } = composing;
  const blocks: Block[] = [];
  if (id === "vehicle") {
    const pairs = factPairs(job, composing.system);
    if (pairs.length > 0) blocks.push({ kind: "facts", pairs });
  }
  const text = job.texts[id]?.trim() ?? "";
  if (text !== "") blocks.push({ kind: "text", text });
  blocks.push(...entryBlocks(id, composing, (entry) => media.beside(entry)));
  if (id === "checks") blocks.push(...checkBlocks(composing), ...logBlocks(composing));
  if (id === "causes") blocks.push(...causesTable(composing));
  if (id === "cautions") {
    const items = cautionsOf(job, composing.system);
    if (items.length > 0) blocks.push({ kind: "list", items });
  }
  return blocks;
}

/** Clips and photos, numbered through in the order in which they stand. */
class Media {
  readonly #composing: Composing;
  readonly #clips: (Clip & { readonly id: string })[];
  readonly #photos: (Photo & { readonly id: string })[];
  #clipNumber = 0;
  #photoNumber = 0;

  constructor(composing: Composing) {
    this.#composing = composing;
    this.#clips = inOrder(composing.job.clips);
    this.#photos = inOrder(composing.job.photos);
  }

  /** Clips that show this entry. */
  beside(entry: string): Block[] {
    return this.#charts((clip) => clip.of === entry);
  }

  /** What stands in this part and beside nothing else. */
  of(id: SectionId): Block[] {
    const { entries } = this.#composing.job;
    const shows = (clip: Clip): boolean => {
      const entry = clip.of === undefined ? undefined : entries[clip.of];
      return (
        entry !== undefined && entry.removed !== true && this.#composing.job.leftOut[entry.section] !== true
      );
    };
    const charts = this.#charts((clip) => clip.section === id && !shows(clip));
    const photos = this.#photos.filter((photo) => photo.section === id).map((photo) => this.#photo(photo));
    return [...charts, ...photos];
  }

  #charts(wanted: (clip: Clip) => boolean): Block[] {
    return this.#clips.filter(wanted).map((clip) => chartBlock(clip, ++this.#clipNumber, this.#composing));
  }

  #photo({ id, type, width, height, caption }: Photo & { readonly id: string }): Block {
    const bytes = this.#composing.sources.photo(id);
    return {
      kind: "photo",
      id,
      name: `photo-${++this.#photoNumber}`,
      type,
      width,
      height,
      bytes,
      caption,
      problem: bytes === null ? "The photo is not there, or was altered." : "",
    };
  }
}

/** Every recording that the note rests on, with the sum that its evidence is tied to. */
function sourcesSection({ job, sources, mask }: Composing): Section {
  const rows = new Map<string, string[]>();
  const ties = [
    ...inOrder(job.recordings).map((r) => r.tie),
    ...inOrder(job.clips).flatMap((c) => [c.tie, ...(c.against === undefined ? [] : [c.against.tie])]),
    ...inOrder(job.entries).flatMap((e) => [...beforeOf(e.says), e.tie]),
  ];
  const stateWords = {
    fits: "as it was",
    altered: "altered since",
    missing: "missing",
    unreadable: "unreadable",
  };
  for (const tie of ties) {
    const key = `${tie.file} ${tie.sha256}`;
    if (rows.has(key)) continue;
    const { state, source } = sources.evidence(tie);
    const header = source?.reading.header;
    rows.set(key, [
      mask(tie.file),
      header === null || header === undefined ? "" : header.started,
      header === null || header === undefined ? "" : header.from,
      `${tie.bytes}`,
      tie.sha256,
      stateWords[state],
    ]);
  }
  const blocks: Block[] =
    rows.size === 0
      ? [{ kind: "text", text: "No recording is on this sheet." }]
      : [
          {
            kind: "table",
            caption: "Each figure and chart above was taken from the first so many bytes of these files.",
            head: ["recording", "started", "heard from", "bytes", "SHA-256 of them", "now"],
            rows: [...rows.values()],
          },
        ];
  return { id: "sources", title: "Recordings this note rests on", blocks };
}
