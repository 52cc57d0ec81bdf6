/** A battery that reading drains, as the person is told of it: key on, engine still, 11.8 V at the socket. */
import { expect, test } from "vitest";
import type { Pages } from "../support/pages.ts";
import { idlingModule, tcpPeer } from "../support/tcpPeer.ts";
import { chromium } from "../support/tools.ts";
import { withPages } from "../support/withPages.ts";

let pages: Pages;
withPages((started) => {
  pages = started;
});

test.skipIf(chromium === null)(
  "below 12.0 V at rest the page warns, and the vehicle is asked far less often, until it is charged",
  async () => {
    const still = { ...idlingModule, replies: { ...idlingModule.replies, "010C": "410C0000" } };
    const adapter = await tcpPeer({ modules: [still], restartMs: 5, volts: "11.8V" });
    const { page } = await pages.open();
    page.setDefaultTimeout(60_000);
    const asked = (): number => adapter.peer.received.filter((command) => command.startsWith("01")).length;
    await page.getByRole("radio", { name: "Network adapter", exact: true }).check();
    await page.getByLabel("Address and port").fill(adapter.address.replace("tcp:", ""));
    await page.getByRole("button", { name: "Connect and record" }).click();
    await expect.poll(asked, { timeout: 20_000 }).toBeGreaterThan(60);
    const warning = page.getByRole("alert").filter({ hasText: "The battery is at 11.8 V" });
    await warning.waitFor();
    await page.getByText("The vehicle is asked less often").waitFor();
    const [before, volts] = [asked(), adapter.peer.received.length];
    await expect.poll(() => adapter.peer.received.length, { timeout: 30_000 }).toBeGreaterThan(volts + 20);
    // The voltage goes on four times a second, the vehicle is asked every two seconds.
    expect(asked() - before).toBeLessThan(10);
    adapter.peer.volts = "13.0V";
    await warning.waitFor({ state: "detached" });
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
    await page.close();
    await adapter.close();
  },
  150_000,
);
