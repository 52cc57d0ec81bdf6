/** Logs from elsewhere on the page, without a map: dropped or picked, looked at, confirmed, opened. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { Reading } from "../../src/reading/index.ts";
import { type Pages } from "../support/pages.ts";
import { chromium, dataSet, secondCar } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

async function pick(page: Page, path: string): Promise<void> {
  await page.getByRole("radio", { name: "A recording", exact: true }).check();
  await page.getByLabel(/^A log from elsewhere/).setInputFiles(path);
}

/** Lets go of a file over the page, as a person does who dragged it there. */
async function drop(page: Page, name: string, text: string): Promise<void> {
  await page.evaluate(`{
    const data = new DataTransfer();
    data.items.add(new File([${JSON.stringify(text)}], ${JSON.stringify(name)}));
    for (const kind of ["dragover", "drop"])
      document.body.dispatchEvent(new DragEvent(kind, { dataTransfer: data, bubbles: true, cancelable: true }));
  }`);
}

const dialog = (page: Page): ReturnType<Page["getByRole"]> =>
  page.getByRole("dialog", { name: /^A log from elsewhere/ });

async function made(page: Page, file: string): Promise<Reading> {
  await dialog(page).getByRole("button", { name: "Make the recording" }).click();
  await page.locator('section.chart[aria-busy="false"] .lane canvas').first().waitFor();
  await dialog(page).waitFor({ state: "detached" });
  const reading = new Reading(file);
  reading.push(readFileSync(join(pages.folder, file), "utf8"));
  reading.finish();
  return reading;
}

test.skipIf(chromium === null)(
  "a CSV dropped on the page: guesses are shown with first values, changed, units asked, and the recording opens",
  async () => {
    const { page, errors } = await pages.open();
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).waitFor();
    const csv = "Time;Engine sped;Coolant;Riddle\n0,0;800;194;3\n0,5;812,5;195;4\n1,0;820;196;5\n";
    await drop(page, "neighbour's car.csv", csv);
    const table = dialog(page).getByRole("table");
    const speed = table.getByRole("row").filter({ hasText: "Engine sped" });
    expect(await speed.innerText()).toContain("812,5");
    expect(await speed.innerText()).toContain("likely");
    expect(await table.getByLabel("channel of Riddle").inputValue()).toBe("");
    await table.getByLabel("channel of Riddle").selectOption("throttle");
    const go = dialog(page).getByRole("button", { name: "Make the recording" });
    expect(await go.isDisabled()).toBe(true);
    await dialog(page).getByText("The file does not say the unit of Coolant.").waitFor();
    await dialog(page).getByRole("button", { name: "US", exact: true }).click();
    expect(await table.getByLabel("unit of Coolant").inputValue()).toBe("°F");
    const reading = await made(page, "neighbour-s-car.ndjson");
    expect([...(reading.channels.find("coolant")?.values ?? [])][0]).toBe(90);
    expect([...(reading.channels.find("engine-speed")?.values ?? [])]).toEqual([800, 812.5, 820]);
    expect([...(reading.channels.find("throttle")?.values ?? [])]).toEqual([3, 4, 5]);
    expect(reading.header?.from).toBe("import:neighbour's car.csv");

    // The same header again: nothing is asked any more.
    await drop(page, "again.csv", csv.replace("812,5", "900"));
    await dialog(page).getByText("as kept").first().waitFor();
    const again = await made(page, "again.ndjson");
    expect([...(again.channels.find("coolant")?.values ?? [])][0]).toBe(90);
    expect(errors).toEqual([]);
  },
  120_000,
);

test.skipIf(chromium === null)(
  "what is no log is refused with what was expected, and the page stays",
  async () => {
    const { page } = await pages.open();
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).waitFor();
    await drop(page, "letter.txt", "Dear customer,\nthe car is ready.\n");
    await dialog(page).getByText("a row of column names with rows of values under it").waitFor();
    await page.keyboard.press("Escape");
    await dialog(page).waitFor({ state: "detached" });
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).waitFor();
  },
  180_000,
);

test.skipIf(chromium === null || dataSet === null)(
  "the first open data set: a drive with one answer on units, and its raw replies with none",
  async () => {
    const { page, errors } = await pages.open();
    await pick(page, join(dataSet ?? "", "drive2.csv.gz"));
    await dialog(page).getByRole("button", { name: "metric", exact: true }).click();
    const drive = await made(page, "drive2.ndjson");
    expect(drive.channels.channels).toHaveLength(25);
    await page.keyboard.press("h");
    await pick(page, join(dataSet ?? "", "raw-replies.txt"));
    await dialog(page).getByText("Replies of modules as hexadecimal digits").waitFor();
    const replies = await made(page, "raw-replies.ndjson");
    expect([...(replies.channels.find("engine-speed")?.values ?? [])]).toContain(1239.75);
    expect(errors).toEqual([]);
  },
  180_000,
);

test.skipIf(chromium === null || secondCar === null)(
  "the second open data set: nothing is asked",
  async () => {
    const { page, errors } = await pages.open();
    await pick(page, join(secondCar ?? "", "trip01.csv.gz"));
    const trip = await made(page, "trip01.ndjson");
    expect(trip.channels.channels).toHaveLength(10);
    expect(errors).toEqual([]);
  },
  180_000,
);
