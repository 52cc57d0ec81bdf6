/** What eyes, hands and screen readers need: axe-core's WCAG 2.2 AA rules, touch sizes, the order of the focus. */
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { findings, rules } from "../support/axe.ts";
import { connectToBench, openRecording, type Pages } from "../support/pages.ts";
import { Firefox } from "../support/firefox.ts";
import { chartWide, openPart } from "../support/sheet.ts";
import { chromium, firefox } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

/** Those of the rules that look at colours: all that another paper can change. */
const colourRules = { type: "rule", values: ["color-contrast", "link-in-text-block"] };

const parts = ["Hand checks", "Modules", "Marks", "Before/after", "Job and note"] as const;
const sample = "van-hisses-at-idle.ndjson.gz";

/** What the bars have no room for is folded: opened, it is as sound as the rest. */
async function openFolds(page: Page): Promise<void> {
  for (const [fold, within] of [
    ["Tools", (p: Page) => p.getByRole("button", { name: /^Arrange/ })],
    ["More", (p: Page) => p.getByLabel("units")],
  ] as const) {
    const opener = page.getByRole("button", { name: fold });
    await opener.click();
    await within(page).waitFor();
    expect(await opener.getAttribute("aria-expanded")).toBe("true");
    expect(await findings(page)).toEqual([]);
    await opener.click();
  }
}

test.skipIf(chromium === null).each(["light", "dark", "sunlight"])(
  "no serious finding on any view, %s paper",
  async (tone) => {
    const { page } = await pages.open();
    const look = async (): Promise<void> => {
      expect(await findings(page, tone === "light" ? rules : colourRules)).toEqual([]);
    };
    await page.getByLabel("paper").selectOption(tone);
    await look();
    await openRecording(page, sample);
    await look();
    // The sheet's parts, each open once; then the other posture.
    for (const part of parts) {
      await openPart(page, part);
      await look();
    }
    await openPart(page, "Evidence");
    await chartWide(page);
    await look();
    await page.keyboard.press("k");
    await page.getByRole("button", { name: "Measure", exact: true }).click();
    await look();
    for (const [key, what] of [
      ["2", ".cranks"],
      ["3", ".mixture svg"],
      ["4", ".figures table"],
    ] as const) {
      await page.keyboard.press(key);
      await page.locator(what).first().waitFor();
      await look();
    }
    await page.keyboard.press("1");
    // Their colours are those of the rest: one paper says it for all. The bars are fullest beside the sheet.
    await page.keyboard.press("w");
    if (tone === "light") await openFolds(page);
    for (const key of ["g", "o", "?"]) {
      await page.keyboard.press(key);
      await page.getByRole("dialog").waitFor();
      await look();
      await page.keyboard.press("Escape");
      await page.getByRole("dialog").waitFor({ state: "detached" });
    }
  },
  120_000,
);

test.skipIf(chromium === null)(
  "the lanes get the height: what the bars have no room for is folded, and reached by keyboard",
  async () => {
    const { page, errors } = await pages.open();
    await connectToBench(page);
    const lane = page.locator(".lane").first();
    await lane.waitFor();
    await page.getByRole("button", { name: "Hold to crank" }).waitFor();
    const laneTop = async (): Promise<number> => (await lane.boundingBox())?.y ?? Number.NaN;
    // The sentence and its figures stand over them.
    await expect.poll(laneTop).toBeLessThan(720 / 4);
    await page.getByRole("region", { name: "what is seen" }).waitFor();

    const tools = page.getByRole("button", { name: "Tools" });
    await tools.press("Enter");
    await tabTo(page, /^Arrange/);
    await page.keyboard.press("Escape");
    await page.getByRole("button", { name: /^Arrange/ }).waitFor({ state: "detached" });
    expect(await page.evaluate("document.activeElement.textContent")).toMatch(/^Tools/);
    await tools.press("Enter");
    await page.getByRole("button", { name: /^Arrange/ }).press("Enter");
    await page.getByRole("dialog", { name: "Lanes" }).waitFor();
    await page.keyboard.press("Escape");
    const more = page.getByRole("button", { name: "More" });
    await more.press("Enter");
    await page.getByLabel("units").selectOption("us");
    await more.press("Escape");
    await page.getByLabel("units").waitFor({ state: "detached" });

    await page.setViewportSize({ width: 390, height: 844 });
    await page.evaluate("scrollTo(0, 0)");
    const paper = await page.locator(".paper").boundingBox();
    const bar = await page.locator(".bar").boundingBox();
    const seen = Math.min(844, bar?.y ?? 0) - (paper?.y ?? 844);
    expect(seen / 844).toBeGreaterThan(0.5);
    expect(await page.evaluate("document.documentElement.scrollWidth")).toBe(390);
    await more.click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "the focus goes from the top of the page over the tools to the strip and the lanes",
  async () => {
    const { page } = await pages.open();
    await openRecording(page, sample);
    await chartWide(page);
    // So wide that the tools stand in the line in part, and in part behind the fold.
    await page.setViewportSize({ width: 1100, height: 720 });
    // From the top, as after a reload.
    await page.evaluate(
      "document.body.tabIndex = -1; document.body.focus(); document.body.removeAttribute('tabindex')",
    );
    const order: string[] = [];
    for (let i = 0; i < 30; i++) {
      await page.keyboard.press("Tab");
      order.push(
        await page.evaluate<string>(
          'document.activeElement.ariaLabel ?? document.activeElement.textContent.trim().split("\\n")[0]',
        ),
      );
    }
    const place = (words: RegExp): number => order.findIndex((text) => words.test(text));
    const stops = [
      /^More/,
      /^Lanes$/,
      /^Measure/,
      /^Tools/,
      /^closer$/,
      /^place of the view/,
      /^fold the/,
    ].map(place);
    expect(order.join("; ")).toMatch(/fold the lane/);
    expect(stops).not.toContain(-1);
    expect(stops).toEqual([...stops].sort((a, b) => a - b));
  },
  120_000,
);

/** What has the focus, by its name. */
const focused = (page: Page): Promise<string> =>
  page.evaluate<string>(
    '(document.activeElement.ariaLabel ?? document.activeElement.textContent).trim().split("\\n")[0].slice(0, 80)',
  );

/** Goes on with the tab key alone to what is called so; tells how often it was pressed. */
async function tabTo(page: Page, words: RegExp, key: "Tab" | "Shift+Tab" = "Tab"): Promise<number> {
  const passed: string[] = [];
  while (passed.length < 150) {
    await page.keyboard.press(key);
    const name = await focused(page);
    passed.push(name);
    if (words.test(name)) return passed.length;
  }
  throw new Error(`expected ${words} among what has the focus in turn, found ${passed.join("; ")}`);
}

test.skipIf(chromium === null)(
  "without a pointer: a recording is opened; lanes are taken off, moved, added, resized, folded and unfolded",
  async () => {
    const { page, errors } = await pages.open();
    const names = (): Promise<string[]> => page.locator(".label > :first-child .name").allInnerTexts();
    const { keyboard } = page;
    // One stop for the choices of a group, arrows among them: the way of radio buttons.
    await page.getByRole("radio", { name: "A recording", exact: true }).waitFor();
    const chosen = 'document.activeElement.closest("label")?.textContent.trim()';
    for (let i = 0; i < 20 && (await page.evaluate("document.activeElement.type")) !== "radio"; i++)
      await keyboard.press("Tab");
    for (let i = 0; i < 6 && (await page.evaluate(chosen)) !== "A recording"; i++)
      await keyboard.press("ArrowDown");
    await page.getByRole("button", { name: `open ${sample}` }).waitFor();
    await tabTo(page, new RegExp(`^open ${sample}`));
    await keyboard.press("Enter");
    await page.locator('section.chart[aria-busy="false"] .lane canvas').first().waitFor();
    const usual = await names();
    expect(usual.slice(0, 2)).toEqual(["speed", "volts (socket)"]);

    await keyboard.press("g");
    const dialog = page.getByRole("dialog");
    await dialog.waitFor();
    await tabTo(page, /^remove Absolute throttle position/);
    await keyboard.press("Enter");
    await expect.poll(names).toEqual(usual.filter((name) => name !== "throttle"));
    // The keyboard is still in the list, and not at its beginning again.
    expect(await focused(page)).toMatch(/^(?:remove|more often)/);
    expect(await tabTo(page, /^↓ Engine speed: down/, "Shift+Tab")).toBeLessThan(20);
    for (const place of [1, 2]) {
      await keyboard.press("Enter");
      await expect.poll(async () => (await names()).indexOf("speed")).toBe(place);
      expect(await focused(page)).toBe("↓ Engine speed: down");
    }
    await tabTo(page, /^↑ Engine speed: up/, "Shift+Tab");
    await keyboard.press("Enter");
    await keyboard.press("Enter");
    await expect.poll(async () => (await names()).indexOf("speed")).toBe(0);
    // At the top there is no further up: the way down has the focus.
    await expect.poll(() => focused(page)).toBe("↓ Engine speed: down");
    await tabTo(page, /^search channels/);
    await keyboard.type("throttle pos");
    await tabTo(page, /^Absolute throttle position$/);
    await keyboard.press("Enter");
    await expect.poll(async () => (await names()).at(-1)).toBe("throttle");
    // Nothing more has that name: the search has the focus, where Escape takes back what was typed first.
    await expect.poll(() => focused(page)).toBe("search channels");
    await keyboard.press("Escape");
    await expect.poll(() => dialog.getByRole("searchbox").inputValue()).toBe("");
    await keyboard.press("Escape");
    await dialog.waitFor({ state: "detached" });

    await tabTo(page, /^move the lane of throttle/);
    const last = (await names()).length - 1;
    await keyboard.press("ArrowUp");
    await expect.poll(async () => (await names()).indexOf("throttle")).toBe(last - 1);
    await expect.poll(() => focused(page)).toBe("move the lane of throttle");
    await keyboard.press("ArrowDown");
    await expect.poll(async () => (await names()).indexOf("throttle")).toBe(last);

    const lane = page.locator(".lane", { hasText: "throttle" });
    const height = async (): Promise<number> => (await lane.boundingBox())?.height ?? Number.NaN;
    const before = await height();
    await tabTo(page, /^height of the lane of throttle/, "Shift+Tab");
    for (let i = 0; i < 6; i++) await keyboard.press("ArrowDown");
    await expect.poll(height).toBeGreaterThan(before * 1.3);
    const tall = await height();
    for (let i = 0; i < 4; i++) await keyboard.press("ArrowUp");
    await expect.poll(height).toBeLessThan(tall * 0.8);
    await keyboard.press("Enter");
    await expect.poll(height).toBeLessThan(40);
    await expect.poll(() => focused(page)).toBe("unfold the lane of throttle");
    await keyboard.press("Enter");
    await expect.poll(height).toBeGreaterThan(40);
    expect(await focused(page)).toBe("fold the lane of throttle");
    expect(errors).toEqual([]);
  },
  90_000,
);

test.skipIf(chromium === null || firefox === null)(
  "in Firefox a sample opens with its sentence and its figures, and a key does what it does",
  async () => {
    const other = await Firefox.launch();
    try {
      await other.open(pages.url, { width: 1366, height: 768 });
      await other.click('input[name="where"][value="file"]');
      await other.click(`button[aria-label="open ${sample}"]`);
      const text = (selector: string): Promise<unknown> =>
        other.value(`document.querySelector(${JSON.stringify(selector)})?.innerText ?? ""`);
      await expect.poll(() => text("body")).toMatch(/Each bank gets about \d\.\d g\/s of unmetered air/);
      await expect.poll(() => text(".lane .label")).toMatch(/speed[\s\S]*\d+ rpm/);
      await other.press("2");
      await expect.poll(() => other.value("document.querySelector('.cranks') !== null")).toBe(true);
      expect(other.errors).toEqual([]);
      await other.value("console.error('probe')");
      await expect.poll(() => other.errors).toEqual(["probe"]);
    } finally {
      await other.close();
    }
  },
  180_000,
);
