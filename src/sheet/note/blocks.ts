/** A note before it is HTML or Markdown: what stands in it, in order. All texts are plain; printing escapes them. */
import type { Markup } from "../markup.ts";
import type { PhotoType } from "../job.ts";
import type { SectionId } from "../sections.ts";

export interface Table {
  readonly kind: "table";
  readonly caption: string;
  readonly head: readonly string[];
  readonly rows: readonly (readonly string[])[];
}

export interface StatementBlock {
  readonly kind: "statement";
  readonly title: string;
  readonly verdict: string;
  /** In the person's words, or as generated. */
  readonly words: string;
  /** As generated, where the person reworded it and it says more than the figures; else empty. */
  readonly generated: string;
  readonly figures: readonly string[];
  readonly notes: readonly string[];
  readonly source: string;
  /** What is wrong with the evidence, or empty. */
  readonly problem: string;
}

export interface ChartBlock {
  readonly kind: "chart";
  /** "clip-1": the name of its files. */
  readonly name: string;
  readonly number: number;
  readonly svg: Markup | null;
  readonly caption: string;
  readonly alt: string;
  readonly source: string;
  readonly problem: string;
  readonly figures: Table | null;
  /** The readings behind it, a file each side, written out when they are asked for; none where there is no evidence to take them from. */
  readonly csv: readonly { readonly name: string; readonly text: () => string }[];
}

export interface PhotoBlock {
  readonly kind: "photo";
  readonly id: string;
  readonly name: string;
  readonly type: PhotoType;
  readonly width: number;
  readonly height: number;
  readonly bytes: Uint8Array | null;
  readonly caption: string;
  readonly problem: string;
}

export interface CheckBlock {
  readonly kind: "check";
  readonly name: string;
  readonly lines: readonly string[];
  readonly withdrawn: string | null;
}

export type Block =
  | { readonly kind: "text"; readonly text: string }
  /** A head within a part: the recording that what follows is from. */
  | { readonly kind: "heading"; readonly text: string }
  | { readonly kind: "facts"; readonly pairs: readonly (readonly [string, string])[] }
  | { readonly kind: "list"; readonly items: readonly string[] }
  | Table
  | StatementBlock
  | ChartBlock
  | PhotoBlock
  | CheckBlock;

export interface Section {
  readonly id: SectionId | "evidence" | "sources";
  readonly title: string;
  readonly blocks: readonly Block[];
}

/** A part of page one; without words it is not there. */
export interface FrontPart {
  readonly title: string;
  readonly words: string;
}

/** Page one, for the customer: it fits on one sheet of paper and stands alone. */
export interface Front {
  readonly facts: readonly (readonly [string, string])[];
  readonly complaint: FrontPart;
  readonly found: FrontPart;
  readonly picture: ChartBlock | null;
  readonly proved: FrontPart;
  readonly done: FrontPart;
  /** Before and after. */
  readonly compared: Table | null;
  readonly left: FrontPart;
  readonly back: FrontPart;
  /** Cautions that matter to a driver. */
  readonly driver: readonly string[];
}

/** Titles that stand on page one and over what follows. */
export const frontTitles = {
  compared: "Before and after",
  driver: "For the driver",
  annex: "Annex for the colleague",
} as const;

export interface Note {
  readonly title: string;
  /** What was found, in one sentence; empty where nothing is on the sheet. */
  readonly said: string;
  /** Under the title: when, by whom. */
  readonly lines: readonly string[];
  /** "bench vehicle, invented data" across the note, or null. */
  readonly invented: string | null;
  /** Null where only the annex leaves. */
  readonly front: Front | null;
  /** The annex; empty where only page one leaves. */
  readonly sections: readonly Section[];
  readonly writer: string;
}
