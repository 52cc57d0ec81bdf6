/** Arming, what the modules say, and clearing, in a real Chromium on the built page. */
import { expect, test } from "vitest";
import { connectToBench, type Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

test.skipIf(chromium === null)(
  "arm before the key is turned; ask every module; clear only with the words that name what is lost",
  async () => {
    const { page, errors } = await pages.open();
    await connectToBench(page);
    const strip = page.getByRole("region", { name: "what is looked at most closely" });
    await strip.getByText("all channels alike").waitFor();
    await strip.getByRole("button", { name: /cranking from the first turn/ }).click();
    await strip.getByText("cranking", { exact: true }).waitFor();
    const sounds = strip.getByRole("checkbox");
    expect(await sounds.isChecked()).toBe(false);
    await strip.getByRole("button", { name: /leave it/ }).click();
    await strip.getByText("all channels alike").waitFor();

    const said = page.getByRole("region", { name: "what the modules say" });
    await said.getByRole("button", { name: "Ask every module" }).click();
    await said.getByRole("columnheader", { name: "module 7E8" }).waitFor({ timeout: 30_000 });
    await said.getByRole("columnheader", { name: "module 7E9" }).waitFor();
    expect(await said.getByRole("row", { name: /stored codes/ }).innerText()).toMatch(/none/);

    await said.getByText("Clear codes…").click();
    const erase = said.getByRole("button", { name: "Erase them" });
    expect(await erase.isDisabled()).toBe(true);
    const field = said.getByRole("textbox", { name: /name what will be lost/ });
    await field.fill("yes");
    expect(await erase.isDisabled()).toBe(true);
    await field.fill(await said.locator("strong").innerText());
    await erase.click();
    await page.getByText("The modules said that it is done.").waitFor({ timeout: 15_000 });
    expect(errors).toEqual([]);
  },
  120_000,
);
