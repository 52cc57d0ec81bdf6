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
  | { readonly kind: "facts"; readonly pairs: readonly (readonly [string, string])[] }
  | { readonly kind: "list"; readonly items: readonly string[] }
  | Table
  | StatementBlock
  | ChartBlock
  | PhotoBlock
  | CheckBlock;

export interface Section {
  readonly id: SectionId | "sources";
  readonly title: string;
  readonly blocks: readonly Block[];
}

export interface Note {
  readonly title: string;
  /** Under the title: when, by whom. */
  readonly lines: readonly string[];
  /** "bench vehicle, invented data" across the note, or null. */
  readonly invented: string | null;
  readonly sections: readonly Section[];
  readonly writer: string;
}
