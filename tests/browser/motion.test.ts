/** Nothing on the page moves by itself that need not, in a real Chromium; least of all where a person asked for stillness. */
import { expect, test } from "vitest";
import { openRecording, type Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

/** What runs by itself, now: animations and transitions, of styles and of scripts. */
const running = "document.getAnimations().filter((a) => a.playState === 'running').length";
/** Elements whose style would set something going. */
const wouldMove = `[...document.querySelectorAll("*")].filter((e) => {
  const style = getComputedStyle(e);
  const lasts = (text) => text.split(",").some((part) => parseFloat(part) > 0);
  return (style.animationName !== "none" && lasts(style.animationDuration)) || lasts(style.transitionDuration)
    || style.scrollBehavior === "smooth";
}).length`;
const probe = `document.head.insertAdjacentHTML("beforeend",
  "<style>@keyframes probe { to { opacity: 0 } } .probe { animation: probe 9s infinite; transition: color 9s; scroll-behavior: smooth }</style>");
  document.body.insertAdjacentHTML("beforeend", "<p class=probe>probe</p>")`;

test.skipIf(chromium === null).each(["reduce", "no-preference"] as const)(
  "with motion: %s, nothing moves by itself that need not",
  async (reducedMotion) => {
    const { page, errors } = await pages.open();
    await page.emulateMedia({ reducedMotion });
    await page.reload();
    const still = async (): Promise<void> => {
      expect(await page.evaluate(running)).toBe(0);
      expect(await page.evaluate(wouldMove)).toBe(0);
    };
    await still();
    await openRecording(page, "van-hisses-at-idle.ndjson.gz");
    for (const key of ["k", "+", "ArrowLeft", "2", "3", "4", "1"]) {
      await page.keyboard.press(key);
      await still();
    }
    for (const key of ["g", "?"]) {
      await page.keyboard.press(key);
      await page.getByRole("dialog").waitFor();
      await still();
      await page.keyboard.press("Escape");
      // Until it is gone, keys are the dialog's own.
      await page.getByRole("dialog").waitFor({ state: "detached" });
    }
    await page.getByRole("button", { name: "More" }).hover();
    await page.getByRole("button", { name: "More" }).click();
    await still();
    // Something that moves is stilled for who asked for it, and seen by this look where nobody did.
    await page.evaluate(probe);
    const moved = reducedMotion === "reduce" ? 0 : 1;
    expect(await page.evaluate(running)).toBe(moved);
    expect(await page.evaluate(wouldMove)).toBe(moved);
    expect(errors).toEqual([]);
  },
  60_000,
);
