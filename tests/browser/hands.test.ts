/** What hands and eyes are owed, in a real Chromium: targets for a finger, nothing over a plot, every key told, stillness. */
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { focusKeys, keyGroups } from "../../src/page/lib/app/keys.ts";
import { connectToBench, openRecording, type Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

const phone = { width: 390, height: 844 };

/** What a finger presses and is smaller than 44 px, with its size. A box to tick is as large as the label around it. */
const tooSmall = `(() => {
  const least = 43.9;
  const seen = [...document.querySelectorAll("button, select, summary, a[href], textarea, input")].filter((e) =>
    e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) && e.closest(".unseen") === null);
  const sized = seen.map((e) => {
    const target = e.matches("[type=radio], [type=checkbox]") ? (e.closest("label") ?? e) : e;
    const { width, height } = target.getBoundingClientRect();
    return { text: (e.ariaLabel ?? e.textContent ?? "").trim().slice(0, 40) || e.outerHTML.slice(0, 80), width, height };
  });
  const small = sized.filter(({ width, height }) => width > 0 && height > 0 && (width < least || height < least));
  return { count: sized.length, small: small.map((s) => s.text + " " + s.width.toFixed(0) + "x" + s.height.toFixed(0)) };
})()`;

interface Targets {
  readonly count: number;
  readonly small: readonly string[];
}

const targets = (page: Page): Promise<Targets> => page.evaluate<Targets>(tooSmall);

test.skipIf(chromium === null)(
  "at 390 px all that a finger presses is 44 px or more, on every view, in open folds and dialogs",
  async () => {
    const { page, errors } = await pages.open(phone, { hasTouch: true, isMobile: true });
    expect(await page.evaluate("matchMedia('(pointer: coarse)').matches")).toBe(true);
    const found: string[] = [];
    const look = async (where: string, least: number): Promise<void> => {
      const { count, small } = await targets(page);
      expect(count, where).toBeGreaterThanOrEqual(least);
      found.push(...small.map((text) => `${where}: ${text}`));
    };
    await look("hookup", 5);
    await openRecording(page, "van-hisses-at-idle.ndjson.gz");
    await look("lanes", 15);
    for (const fold of ["Tools", "More"]) {
      const opener = page.getByRole("button", { name: fold });
      const { count } = await targets(page);
      await opener.click();
      await look(fold, count + 3);
      await opener.click();
    }
    for (const sheet of ["Cranks", "Mixture", "Table", "Lanes"]) {
      await page.getByRole("button", { name: sheet, exact: true }).click();
      await page.locator(".cranks, .mixture svg, .figures, .lane").first().waitFor();
      await look(sheet, 10);
    }
    for (const key of ["g", "o", "?"]) {
      await page.keyboard.press(key);
      await page.getByRole("dialog").waitFor();
      await look(`dialog ${key}`, 1);
      await page.keyboard.press("Escape");
      await page.getByRole("dialog").waitFor({ state: "detached" });
    }
    await page.keyboard.press("f");
    await page.getByRole("region", { name: "far view" }).waitFor();
    await look("far view", 1);
    await page.keyboard.press("f");
    await page.keyboard.press("h");
    await connectToBench(page);
    await page.getByRole("button", { name: "Hold to crank" }).waitFor();
    await page.keyboard.press("m");
    await page.getByRole("form", { name: "name the mark" }).waitFor();
    await look("bench vehicle, naming a mark", 25);
    await page.keyboard.press("Escape");
    await page.getByRole("button", { name: "More" }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    expect([...new Set(found)]).toEqual([]);
    // The same look at something that is too small.
    await page.evaluate(
      `document.querySelector("main").insertAdjacentHTML("afterbegin", "<button style='min-height:20px;height:20px'>probe</button>")`,
    );
    expect((await targets(page)).small.join()).toContain("probe");
    expect(errors).toEqual([]);
    await page.close();
  },
  120_000,
);

/** The stretch that is seen, as the overview tells it: "0:12 to 1:30 of 4:00", in seconds. */
async function stretchOf(page: Page): Promise<{ from: number; to: number }> {
  const slider = page.getByRole("slider", { name: "place of the view in the whole recording" });
  const text = (await slider.getAttribute("aria-valuetext")) ?? "";
  const [from = Number.NaN, to = Number.NaN] = [...text.matchAll(/(\d+):(\d+)/g)].map(
    ([, minutes, seconds]) => Number(minutes) * 60 + Number(seconds),
  );
  return { from, to };
}

/** Two fingers on the first lane, slanted as a hand is: apart, then both to the left; the page stays as it is. */
async function twoFingers(page: Page): Promise<void> {
  const box = await page.locator(".lane .canvas").first().boundingBox();
  if (box === null) throw new Error("no lane is drawn");
  const touch = await page.context().newCDPSession(page);
  const fingers = (
    type: "touchStart" | "touchMove" | "touchEnd",
    parts: readonly number[],
  ): Promise<unknown> =>
    touch.send("Input.dispatchTouchEvent", {
      type,
      touchPoints: parts.map((part, i) => ({
        ...{ id: i, x: box.x + box.width * part },
        y: box.y + 40 + 30 * i,
      })),
    });
  /** A whole gesture: a busy browser may break one off, and a hand then makes it again. */
  const moved = async (from: readonly [number, number], by: readonly [number, number]): Promise<void> => {
    await fingers("touchStart", from);
    for (const part of [0.25, 0.5, 0.75, 1])
      await fingers("touchMove", [from[0] + by[0] * part, from[1] + by[1] * part]);
    await fingers("touchEnd", []);
  };
  const whole = await stretchOf(page);
  const length = whole.to - whole.from;
  const spread = async (): Promise<number> => {
    await moved([0.4, 0.6], [-0.2, 0.2]);
    const { from, to } = await stretchOf(page);
    return to - from;
  };
  await expect.poll(spread).toBeLessThan(length * 0.7);
  const near = await stretchOf(page);
  const middle = (whole.from + whole.to) / 2;
  expect(near.from).toBeLessThan(middle);
  expect(near.to).toBeGreaterThan(middle);
  const together = async (): Promise<number> => {
    await moved([0.4, 0.6], [-0.2, -0.2]);
    return (await stretchOf(page)).from;
  };
  await expect.poll(together).toBeGreaterThan(near.from + (near.to - near.from) / 8);
  expect(await page.evaluate("[visualViewport.scale, scrollY]")).toEqual([1, 0]);
  await touch.detach();
}

test.skipIf(chromium === null)(
  "at 390 px and on a tablet nothing to press lies over a plot, and two fingers zoom and move the paper alone",
  async () => {
    const { page } = await pages.open(phone, { hasTouch: true, isMobile: true });
    for (const size of [phone, { width: 1024, height: 768 }]) {
      await page.setViewportSize(size);
      await page.goto(pages.url);
      await openRecording(page, "van-stood-all-winter.ndjson.gz");
      const over = await page.evaluate<string[]>(`[...document.querySelectorAll(".lane")].flatMap((lane) => {
        const plot = lane.querySelector(".canvas").getBoundingClientRect();
        return [...lane.querySelectorAll("button")].flatMap((button) => {
          const b = button.getBoundingClientRect();
          const wide = Math.min(b.right, plot.right) - Math.max(b.left, plot.left);
          const high = Math.min(b.bottom, plot.bottom) - Math.max(b.top, plot.top);
          return wide > 1 && high > 1 ? [button.ariaLabel + " " + wide.toFixed(0) + "x" + high.toFixed(0)] : [];
        });
      })`);
      expect(over, `${size.width}`).toEqual([]);
      await twoFingers(page);
    }
    await page.close();
  },
  120_000,
);

test.skipIf(chromium === null)(
  "a dialog that was left takes none with it that a quick hand opened meanwhile",
  async () => {
    const { page, errors } = await pages.open();
    await openRecording(page, "hatch-cold-morning.ndjson.gz");
    await page.keyboard.press("g");
    await page.getByRole("dialog", { name: "Lanes" }).waitFor();
    // Closed by the browser, which tells of it a moment later; before that, the next key.
    await page.evaluate(`document.querySelector("dialog").close();
      document.body.dispatchEvent(new KeyboardEvent("keydown", { key: "?", bubbles: true }));`);
    const help = page.getByRole("dialog", { name: "Keys, hands and care" });
    await help.waitFor();
    await page.keyboard.press("Escape");
    await help.waitFor({ state: "detached" });
    expect(errors).toEqual([]);
  },
  180_000,
);

test.skipIf(chromium === null)(
  "the help sheet shows every key with what it does",
  async () => {
    const { page, errors } = await pages.open();
    await openRecording(page, "hatch-cold-morning.ndjson.gz");
    await page.keyboard.press("?");
    const dialog = page.getByRole("dialog");
    await dialog.waitFor();
    const shown = await dialog.locator("dt kbd").allInnerTexts();
    const rows = [...keyGroups, focusKeys].flatMap((group) => group.rows);
    expect(shown.toSorted()).toEqual(rows.flatMap((row) => row.keys).toSorted());
    for (const { does } of rows) expect(await dialog.getByText(does, { exact: true }).count(), does).toBe(1);
    expect(errors).toEqual([]);
  },
  180_000,
);

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
  120_000,
);
