/** What holds for every note, in a real Chromium: axe, and the printed pages. */
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { Page } from "playwright-core";

/** Axe has to run in the page, so the note's policy against scripts is taken out for that check alone. */
export function withoutPolicy(html: string): string {
  return html.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, "");
}

export async function seriousFindings(
  page: Page,
): Promise<{ readonly serious: readonly string[]; readonly passes: number }> {
  const source = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
  await page.evaluate(source);
  const found = await page.evaluate<{
    violations: { id: string; impact: string; nodes: { html: string }[] }[];
    passes: unknown[];
  }>("axe.run()");
  const serious = found.violations.filter((v) => v.impact === "serious" || v.impact === "critical");
  return {
    serious: serious.map((v) => `${v.id}: ${v.nodes[0]?.html}`),
    passes: found.passes.length,
  };
}

/** Page by page, the addresses of the links on it. Chromium writes its PDF objects uncompressed, text apart. */
function linksByPage(pdf: Buffer): string[][] {
  const text = pdf.toString("latin1");
  const objects = new Map<string, string>();
  for (const [, id = "", body = ""] of text.matchAll(/(?:^|\n)(\d+) 0 obj\s([\s\S]*?)endobj/g))
    objects.set(id, body);
  const pages = [...objects.values()].filter((body) => /\/Type\s*\/Page\b(?!s)/.test(body));
  return pages.map((body) => {
    const list = /\/Annots\s*\[([^\]]*)\]/.exec(body)?.[1] ?? "";
    return [...list.matchAll(/(\d+) 0 R/g)].flatMap(([, id = ""]) => {
      const uri = /\/URI\s*\((https:[^)]*)\)/.exec(objects.get(id) ?? "")?.[1];
      return uri === undefined ? [] : [uri];
    });
  });
}

/** A link at the head and one at the foot of every chart tell in the printed file itself where they came to lie. */
const putLinks = `for (const [n, chart] of [...document.querySelectorAll("figure svg")].entries()) {
  const box = document.createElement("div");
  box.style.position = "relative";
  chart.before(box);
  box.append(chart);
  const caption = box.closest("figure").querySelector("figcaption");
  caption.style.position = "relative";
  for (const [end, side, where] of [["head", "top", box], ["foot", "bottom", box], ["caption", "bottom", caption]]) {
    const link = document.createElement("a");
    link.href = "https://example.invalid/" + n + "-" + end;
    link.textContent = "x";
    link.style.cssText = "position:absolute;left:0;font-size:6px;line-height:6px;" + side + ":8px";
    where.append(link);
  }
}`;

/** Prints the note that is open. `cut`: charts whose head, foot and caption are not all on one page. */
export async function printedCharts(
  page: Page,
  format: string,
): Promise<{ readonly pages: number; readonly charts: number; readonly cut: readonly string[] }> {
  await page.evaluate(putLinks);
  const charts = await page.locator("figure svg").count();
  const pdf = await page.pdf({ format });
  if (process.env["KEEP_PDF"] !== undefined) writeFileSync(process.env["KEEP_PDF"], pdf);
  const pages = linksByPage(pdf);
  const on = (n: number, end: string): number =>
    pages.findIndex((links) => links.includes(`https://example.invalid/${n}-${end}`));
  const places = Array.from({ length: charts }, (_, n) =>
    ["head", "foot", "caption"].map((end) => on(n, end)),
  );
  return {
    pages: pages.length,
    charts,
    cut: places.flatMap((at, n) =>
      at.some((p) => p < 0 || p !== at[0])
        ? [`chart ${n}: head, foot, caption on pages ${at.join(", ")}`]
        : [],
    ),
  };
}
