/** A phone beside the engine, in a real Chromium: the picture, the code, what it may do, and what the laptop says. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { build } from "../support/build.ts";
import { findings } from "../support/axe.ts";
import { sharedBrowser } from "../support/browser.ts";
import { connectToBench, shown } from "../support/pages.ts";
import { background, tempFolder, type Background } from "../support/program.ts";
import { readQr, type Picture } from "../support/qrReader.ts";
import { complain } from "../support/sheet.ts";
import { chromium } from "../support/tools.ts";

let browser: Browser;
let folder: ReturnType<typeof tempFolder>;
let running: Background;
let laptop: Page;

beforeAll(async () => {
  if (chromium === null) return;
  build();
  browser = await sharedBrowser();
  folder = tempFolder();
  running = await background(
    ["serve", "--no-open", "--port", "0", "--folder", folder.path, "--lan", "127.0.0.2"],
    /Crankside is at (http:\S+)[\s\S]*127\.0\.0\.2/,
  );
  laptop = await browser.newPage();
  laptop.setDefaultTimeout(60_000);
  await laptop.goto(running.said[1] ?? "");
}, 180_000);

afterAll(async () => {
  if (chromium === null) return;
  await browser.close();
  await running.stop();
  folder.remove();
});

const openLine = /Open to the network at (http:\S+) · code ([0-9A-Z ]{9})\s+·\s+(\d+) device/;

/** What the laptop says of its open door. */
async function door(): Promise<{ url: string; code: string; guests: number }> {
  const text = (await laptop.locator("summary", { hasText: "Open to the network" }).innerText()).replace(
    /\s+/g,
    " ",
  );
  const [, url = "", code = "", guests = ""] = openLine.exec(text) ?? [];
  return { url, code: code.replace(" ", ""), guests: Number(guests) };
}

/** The pixels of the picture as the laptop's screen draws them, four to a module or more. */
async function picture(): Promise<Picture> {
  await laptop.locator("summary", { hasText: "Open to the network" }).click();
  const image = laptop.getByAltText("the address and the code, for a camera");
  await image.waitFor();
  return laptop.evaluate<Picture>(`(async () => {
    const image = document.querySelector('img[alt^="the address and the code"]');
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = 360;
    const context = canvas.getContext("2d");
    context.fillStyle = "white";
    context.fillRect(0, 0, 360, 360);
    context.drawImage(image, 0, 0, 360, 360);
    const { data } = context.getImageData(0, 0, 360, 360);
    const light = [];
    for (let i = 0; i < data.length; i += 4) light.push(Math.round((data[i] + data[i + 1] + data[i + 2]) / 3));
    return { width: 360, height: 360, light };
  })()`);
}

test.skipIf(chromium === null)(
  "the picture says address and code; what it opens lets one device in, which reads and marks and no more",
  async () => {
    await connectToBench(laptop);
    const before = await door();
    expect(before).toMatchObject({ guests: 0, url: expect.stringContaining("http://127.0.0.2:") as string });
    const seen = await picture();
    const letter = readQr(seen);
    expect(letter).toBe(`${before.url}join#${before.code}`);
    const smudged = { ...seen, light: seen.light.map((v, i) => (i % 360 > 180 && i > 64_800 ? 255 - v : v)) };
    expect(() => readQr(smudged)).toThrow();

    const phone = await (
      await browser.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true })
    ).newPage();
    phone.setDefaultTimeout(60_000);
    await phone.goto(letter);
    await phone.getByText("This device looks on over the network").waitFor();
    // The code is gone from the address, and used up.
    expect(phone.url()).toBe(before.url);
    await expect.poll(async () => (await door()).guests).toBe(1);
    expect((await door()).code).not.toBe(before.code);
    const second = await (await browser.newContext()).newPage();
    await second.goto(letter);
    await second.getByRole("alert").filter({ hasText: "that is not the code" }).waitFor();

    // It opens on what is read with one look and done with one hand.
    const volts = phone.locator(".numbers .value").last();
    await expect.poll(async () => Number(await volts.innerText())).toBeGreaterThan(11);
    for (const name of [/Stop recording/, /^Disconnect$/, /Take it over/, /^Hold to crank/])
      expect(await phone.getByRole("button", { name }).count(), String(name)).toBe(0);
    const mark = phone.getByRole("button", { name: "MARK" });
    expect((await mark.boundingBox())?.width).toBeGreaterThan(360 - 2 * 20);
    const marked = phone.getByRole("listitem");
    await mark.tap();
    await phone.getByRole("button", { name: "relay swapped", exact: true }).tap();
    await marked.filter({ hasText: "relay swapped" }).waitFor();
    expect(await marked.count()).toBe(1);
    await phone.getByRole("button", { name: /^Undo: relay swapped/ }).tap();
    await marked.waitFor({ state: "detached" });
    await phone.getByRole("button", { name: "words…" }).tap();
    await phone.getByRole("textbox", { name: "words for the mark" }).fill("seen from the engine");
    await phone.getByRole("button", { name: "Keep", exact: true }).tap();
    await laptop
      .getByRole("listitem", { includeHidden: true })
      .filter({ hasText: "seen from the engine" })
      .waitFor({ state: "attached" });
    const recorded = (): string =>
      readdirSync(folder.path)
        .filter((name) => name.endsWith(".ndjson"))
        .map((name) => readFileSync(join(folder.path, name), "utf8"))
        .join("");
    await expect.poll(recorded).toContain("seen from the engine");

    // Each of its three screens is as wide as it is, and sound; two lanes fill the chart's.
    const wide = (): Promise<number> => phone.evaluate("document.documentElement.scrollWidth");
    for (const to of ["Chart", "Next check", "Now"]) {
      await phone.getByRole("button", { name: to, exact: true }).tap();
      if (to === "Chart") {
        await expect.poll(() => shown(phone, "volts (socket)")).toBeGreaterThan(11);
        const lane = await phone.locator(".lane").nth(1).boundingBox();
        expect((lane?.y ?? 0) + (lane?.height ?? 0)).toBeGreaterThan(740 * 0.75);
      }
      expect(await wide(), to).toBe(360);
      expect(await findings(phone), to).toEqual([]);
    }

    // Results are the laptop's, until its owner lets the phone enter them, too.
    await laptop.getByRole("button", { name: "Begin a job" }).click();
    await complain(
      laptop.getByRole("region", { name: "likely causes and the next check" }),
      "does not start",
    );
    await phone.getByRole("button", { name: "Next check", exact: true }).tap();
    const next = phone.getByRole("group", { name: "next check" });
    await next.getByText("Results are entered on the laptop.").waitFor();
    await laptop
      .getByRole("checkbox", { name: "These devices may enter results of hand checks, too" })
      .check();
    await next.getByRole("button", { name: "could not tell" }).tap();
    await next.getByRole("button", { name: "Keep the result" }).tap();
    await laptop.getByRole("tab", { name: /^Hand checks\s*1/ }).waitFor();
    expect(await findings(phone)).toEqual([]);

    // On a wide screen it has the laptop's job open too, and no button for what is the laptop's.
    await phone.setViewportSize({ width: 1180, height: 820 });
    await phone.getByRole("tab", { name: /^Hand checks\s*1/ }).waitFor();
    await phone
      .getByRole("region", { name: "likely causes and the next check" })
      .getByRole("listitem")
      .first()
      .waitFor();
    for (const name of [/^something was changed for/, /^put first/, /^Put the causes/, /^this stretch/])
      expect(await phone.getByRole("button", { name, includeHidden: true }).count(), String(name)).toBe(0);
    await phone.setViewportSize({ width: 360, height: 740 });

    // What its page does not offer, its scripts do not get either.
    const refused = await phone.evaluate<string>(`new Promise((resolve) => {
      const ws = new WebSocket(location.href.replace("http", "ws") + "ws");
      ws.onopen = () => ws.send(JSON.stringify({ type: "disconnect", id: 7 }));
      ws.onmessage = ({ data }) => { const m = JSON.parse(data); if (m.id === 7) resolve(m.failure?.code ?? m.type); };
    })`);
    expect(refused).toBe("role-refused");
    const job = await phone.evaluate<number>(
      `fetch("api/jobs", { method: "POST", body: '{"name":"x"}' }).then((answer) => answer.status)`,
    );
    expect(job).toBe(403);

    await laptop.getByRole("button", { name: "Close it and disconnect all" }).click();
    await phone.getByText("Crankside itself does not answer any more").waitFor();
    await laptop.getByText("Open to the network").waitFor({ state: "detached" });
    await phone.context().close();
    await second.context().close();
  },
  180_000,
);
