/** A note on paper: Chromium prints it, poppler's tools look at it. */
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import type { Browser } from "playwright-core";

export interface Printed {
  /** Text of each page, in the order in which it is read. */
  readonly pages: readonly string[];
  readonly pdf: string;
}

export async function printed(
  browser: Browser,
  html: string,
  { folder, format = "A4" }: { readonly folder: string; readonly format?: string },
): Promise<Printed> {
  mkdirSync(folder, { recursive: true });
  const file = join(folder, "note.html");
  const pdf = join(folder, `note-${format}.pdf`);
  writeFileSync(file, html);
  const page = await browser.newPage();
  await page.goto(pathToFileURL(file).href);
  await page.pdf({ path: pdf, format });
  await page.close();
  const text = execFileSync("pdftotext", [pdf, "-"], { encoding: "utf8", maxBuffer: 64 << 20 });
  // A form feed ends each page.
  return { pages: text.split("\f").slice(0, -1), pdf };
}

export interface Ink {
  readonly width: number;
  readonly height: number;
  /** How near ink comes to each edge, as a share of the page. */
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** Where there is ink on a page, from 1. Portable graymap, binary: `P5`, width, height, 255, then a byte a pixel. */
export function inkOf(pdf: string, page: number, folder: string): Ink {
  const stem = join(folder, `page-${page}`);
  execFileSync("pdftoppm", ["-gray", "-r", "50", "-f", String(page), "-l", String(page), pdf, stem]);
  const name = readdirSync(folder).find((n) => n.startsWith(`page-${page}-`) && n.endsWith(".pgm"));
  const bytes = readFileSync(join(folder, name ?? ""));
  const head = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(bytes.subarray(0, 40).toString("latin1"));
  if (head === null) throw new Error("not a graymap");
  const [width, height] = [Number(head[1]), Number(head[2])];
  const pixels = bytes.subarray(head[0].length);
  let [left, right, top, bottom] = [width, 0, height, 0];
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      if ((pixels[y * width + x] ?? 255) > 200) continue;
      left = Math.min(left, x);
      right = Math.max(right, x);
      top = Math.min(top, y);
      bottom = Math.max(bottom, y);
    }
  return {
    width,
    height,
    left: left / width,
    right: 1 - right / width,
    top: top / height,
    bottom: 1 - bottom / height,
  };
}
