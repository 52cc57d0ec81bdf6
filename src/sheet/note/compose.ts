/** From a job and its evidence to the note: which blocks stand in which part. Pure. */
import type { UnitSystem } from "../../../shared/units.ts";
import type { Sources } from "../tied.ts";
import { inOrder, isInvented, type Clip, type JobDocument, type Photo } from "../job.ts";
import { maskedJob, maskOf, nothingMasked, type Masking } from "../mask.ts";
import { beforeOf, saysOf } from "../snapshot.ts";
import { sectionTitles, type SectionId } from "../sections.ts";
import type { Block, Note, Section } from "./blocks.ts";
import { brief } from "./brief.ts";
import { chartBlock } from "./chartBlock.ts";
import { cautionsOf } from "./cautions.ts";
import { actBlocks, checkBlocks, causesTable, resultBlocks } from "./checks.ts";
import { entryBlocks } from "./entries.ts";
import { evidenceBlocks, evidenceParts, isEvidence } from "./evidence.ts";
import { conclusionOf, frontOf } from "./front.ts";
import { saidFirst } from "./said.ts";
import { surveyBlocks, surveysOf } from "./surveys.ts";
import { benchWords, dateText, inventedWords, type Composing } from "./composing.ts";
import { factPairs } from "./facts.ts";
import { kindItems, vehicleOf } from "./kind.ts";

/** Which of its two parts leave. */
export const noteParts = ["all", "page-one", "annex"] as const;
export type NotePart = (typeof noteParts)[number];

export interface NoteOptions {
  readonly system: UnitSystem;
  readonly masking?: Masking;
  /** ISO 8601 with zone: when the note was made. */
  readonly made: string;
  readonly writer: string;
  /** Both where it is not given. */
  readonly part?: NotePart;
}

/** The parts of the annex: what was found, what shows it, what was done; then what who goes on needs. */
const annexOrder: readonly (SectionId | "evidence")[] = [
  ...(["complaint", "vehicle", "conclusion", "evidence", "checks", "causes"] as const),
  ...(["done", "compared", "modules", "open", "cautions"] as const),
];
const evidenceTitle = "Evidence in the order of time";

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
  const { part = "all" } = options;
  const media = new Media(composing);
  const parts = annexOrder.flatMap((id): Section[] => {
    if (id !== "evidence" && (shown.leftOut[id] === true || evidenceParts.has(id))) return [];
    const blocks = id === "evidence" ? evidenceOf(composing, media) : partBlocks(id, composing, media);
    const title = id === "evidence" ? evidenceTitle : sectionTitles[id];
    return blocks.length === 0 ? [] : [{ id, title, blocks }];
  });
  const { mechanic, customer } = shown.who;
  return {
    title:
      shown.vehicle.name === undefined || shown.vehicle.name === ""
        ? "Repair note"
        : `Repair note: ${brief(shown.vehicle.name, 80)}`,
    said: saidFirst(composing),
    lines: [
      `Begun ${dateText(job.created)}, written ${dateText(job.changed)}`,
      ...(mechanic === "" ? [] : [`By ${brief(mechanic, 80)}`]),
      ...(customer === "" ? [] : [`For ${brief(customer, 80)}`]),
      ...(maskNotice(masking) === "" ? [] : [maskNotice(masking)]),
    ],
    invented: composing.invented,
    front: part === "annex" ? null : frontOf(composing, (clip) => media.numberOf(clip)),
    sections: part === "page-one" ? [] : [...parts, sourcesSection(composing)],
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

function partBlocks(id: SectionId, composing: Composing, media: Media): Block[] {
  const { job } = composing;
  const blocks: Block[] = [];
  if (id === "vehicle") {
    const pairs = factPairs({ ...job, vehicle: vehicleOf(composing) }, composing.system);
    if (pairs.length > 0) blocks.push({ kind: "facts", pairs });
    const items = kindItems(composing);
    if (items.length > 0)
      blocks.push(
        { kind: "heading", text: "What its recordings tell of it beside" },
        { kind: "list", items: items.map(composing.mask) },
      );
  }
  const text = job.texts[id]?.trim() || (id === "conclusion" ? conclusionOf(composing) : "");
  if (text !== "") blocks.push({ kind: "text", text });
  const entries = inOrder(job.entries).filter(
    (e) => e.section === id && !isEvidence(e) && saysOf(e.says)?.kind !== "modules",
  );
  blocks.push(...entryBlocks(entries, composing, (entry) => media.beside(entry)));
  // Surveys stand together, wherever one was put, but for those whose part is left out.
  if (id === "modules")
    blocks.push(
      ...surveyBlocks(
        composing,
        surveysOf(composing).filter((e) => job.leftOut[e.section] !== true),
      ),
    );
  if (id === "checks") blocks.push(...checkBlocks(composing), ...resultBlocks(composing));
  if (id === "done") blocks.push(...actBlocks(composing));
  if (id === "causes") blocks.push(...causesTable(composing));
  if (id === "cautions") {
    const items = cautionsOf(job, composing.system);
    if (items.length > 0) blocks.push({ kind: "list", items });
  }
  // Clips of hand checks were drawn with the evidence, where their time puts them.
  return [...blocks, ...(id === "checks" ? [] : media.charts(id)), ...media.photos(id)];
}

function evidenceOf(composing: Composing, media: Media): Block[] {
  const blocks = evidenceBlocks(composing, {
    beside: (entry) => media.beside(entry),
    chart: (clip) => media.chart(clip),
    alone: media.alone(),
  });
  const photos = [...evidenceParts]
    .filter((id) => composing.job.leftOut[id] !== true)
    .flatMap((id) => media.photos(id));
  return [...blocks, ...photos];
}

type ClipItem = Clip & { readonly id: string };

/** Clips and photos, numbered through in the order in which they stand. */
class Media {
  readonly #composing: Composing;
  readonly #clips: readonly ClipItem[];
  readonly #photos: readonly (Photo & { readonly id: string })[];
  readonly #numbers = new Map<string, number>();
  #photoNumber = 0;

  constructor(composing: Composing) {
    this.#composing = composing;
    this.#clips = inOrder(composing.job.clips);
    this.#photos = inOrder(composing.job.photos);
  }

  /** Null for a clip that does not stand in the annex. */
  numberOf(clip: string): number | null {
    return this.#numbers.get(clip) ?? null;
  }

  /** Clips that show this entry. */
  beside(entry: string): Block[] {
    return this.#clips.filter((clip) => clip.of === entry).map((clip) => this.chart(clip));
  }

  /** Clips that stand beside no entry, in any part. */
  alone(): readonly ClipItem[] {
    const { entries, leftOut } = this.#composing.job;
    return this.#clips.filter((clip) => {
      const entry = clip.of === undefined ? undefined : entries[clip.of];
      return entry === undefined || entry.removed === true || leftOut[entry.section] === true;
    });
  }

  /** What stands in this part and beside nothing else. */
  charts(id: SectionId): Block[] {
    return this.alone()
      .filter((clip) => clip.section === id)
      .map((clip) => this.chart(clip));
  }

  photos(id: SectionId): Block[] {
    return this.#photos.filter((photo) => photo.section === id).map((photo) => this.#photo(photo));
  }

  chart(clip: ClipItem): Block {
    const number = this.#numbers.size + 1;
    this.#numbers.set(clip.id, number);
    return chartBlock(clip, number, this.#composing);
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

const stateWords = {
  fits: "as it was",
  altered: "altered since",
  missing: "missing",
  unreadable: "unreadable",
} as const;

/** Every recording that the note rests on, with the sum that its evidence is tied to; a sum is not broken over lines. */
function sourcesSection({ job, sources, mask }: Composing): Section {
  const ties = [
    ...inOrder(job.recordings).map((r) => r.tie),
    ...inOrder(job.clips).flatMap((c) => [c.tie, ...(c.against === undefined ? [] : [c.against.tie])]),
    ...inOrder(job.entries).flatMap((e) => [...beforeOf(e.says), e.tie]),
  ];
  const once = new Map(ties.map((tie) => [`${tie.file} ${tie.sha256}`, tie]));
  const blocks = [...once.values()].flatMap((tie): Block[] => {
    const { state, source } = sources.evidence(tie);
    const header = source?.reading.header;
    const heard =
      header === null || header === undefined ? [] : [`Started ${header.started}, heard from ${header.from}`];
    return [
      { kind: "heading", text: `${mask(tie.file)}: ${stateWords[state]}` },
      { kind: "list", items: [...heard, `SHA-256 of its first ${tie.bytes} bytes:`, tie.sha256] },
    ];
  });
  const lead = "Each figure and chart above was taken from the first so many bytes of these files.";
  return {
    id: "sources",
    title: "Recordings this note rests on",
    blocks:
      blocks.length === 0
        ? [{ kind: "text", text: "No recording is on this sheet." }]
        : [{ kind: "text", text: lead }, ...blocks],
  };
}
