/** axe-core's rules for WCAG 2.2 AA on the page as it stands. */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import type { Page } from "playwright-core";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

interface Finding {
  readonly id: string;
  readonly impact: string;
  readonly nodes: readonly { readonly html: string }[];
}

export const rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];

/** Serious and critical findings on what the page shows now. */
export async function findings(page: Page, runOnly: unknown = rules): Promise<string[]> {
  if (await page.evaluate("globalThis.axe === undefined")) await page.evaluate(axe);
  const found = await page.evaluate<readonly Finding[]>(
    `axe.run(document, ${JSON.stringify({ runOnly, resultTypes: ["violations"] })}).then((r) => r.violations)`,
  );
  return found
    .filter(({ impact }) => impact === "serious" || impact === "critical")
    .map(({ id, nodes }) => `${id}: ${nodes.map((n) => n.html.slice(0, 160)).join(" | ")}`);
}
