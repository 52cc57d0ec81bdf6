/** Where the chart's paper is in a recording, and what stands where on it. */
import type { Page } from "playwright-core";

/** Seconds that are in view. */
export async function seen(page: Page): Promise<{ from: number; to: number }> {
  const strip = page.getByRole("slider", { name: /place of the view/ });
  const [from = "", to = ""] = ((await strip.getAttribute("aria-valuetext")) ?? "").split(/ to | of /);
  const seconds = (text: string): number => text.split(":").reduce((sum, part) => 60 * sum + Number(part), 0);
  return { from: seconds(from), to: seconds(to) };
}

export async function length(page: Page): Promise<number> {
  const { from, to } = await seen(page);
  return to - from;
}

/** Pixels from the left of the paper: the held cursor, and the marks that are in view; NaN without one. */
export function places(page: Page): Promise<{ cursor: number; marks: number[] }> {
  return page.evaluate<{ cursor: number; marks: number[] }>(`(() => {
    const paper = document.querySelector(".overlay").getBoundingClientRect();
    const left = (e) => Math.round(e?.getBoundingClientRect().left - paper.left);
    return { cursor: left(document.querySelector(".cursor.pinned")), marks: [...document.querySelectorAll(".overlay .mark")].map(left) };
  })()`);
}
