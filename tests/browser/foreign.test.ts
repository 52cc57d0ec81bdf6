/** A page of another site, in a real Chromium, that tries to read and to drive the program on this machine. */
import { createServer, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import type { Page } from "playwright-core";
import { afterAll, beforeAll, expect, test } from "vitest";
import { BarePage } from "../support/barePage.ts";
import { Pages } from "../support/pages.ts";
import { chromium } from "../support/tools.ts";

let pages: Pages;
let site: Server;
let foreign: Page;

beforeAll(async () => {
  if (chromium === null) return;
  pages = await Pages.start();
  site = createServer((_request, response) => {
    response.writeHead(200, { "content-type": "text/html" });
    response.end("<!doctype html><title>elsewhere</title><p>elsewhere");
  });
  await new Promise<void>((resolve) => site.listen(0, "127.0.0.1", resolve));
  foreign = (await pages.open(undefined, {})).page;
  await foreign.goto(`http://127.0.0.1:${(site.address() as AddressInfo).port}/`);
}, 180_000);

afterAll(async () => {
  if (chromium === null) return;
  await pages.stop();
  await new Promise((resolve) => {
    site.close(resolve);
    site.closeAllConnections();
  });
});

/** What a script of the other site gets. */
function there<T>(script: string): Promise<T> {
  return foreign.evaluate<T>(script);
}

test.skipIf(chromium === null)("it reads nothing over HTTP, in whatever way it asks", async () => {
  for (const path of ["", "api/recordings", "api/recordings/one.ndjson", "api/jobs"]) {
    for (const mode of ["cors", "no-cors"]) {
      const got = await there<string>(
        `fetch(${JSON.stringify(pages.url + path)}, { mode: "${mode}" }).then((r) => r.text(), () => "refused")`,
      );
      expect(["", "refused"], `${mode} ${path}`).toContain(got);
    }
  }
});

test.skipIf(chromium === null)(
  "it cannot show the page in a frame, nor take a script or a picture from it",
  async () => {
    const loaded = await there<string[]>(`Promise.all(
    [["script", "src"], ["img", "src"], ["link", "href"]].map(([tag, where]) => new Promise((resolve) => {
      const element = document.createElement(tag);
      element.rel = "stylesheet";
      element.onload = () => resolve("loaded");
      element.onerror = () => resolve("refused");
      element[where] = ${JSON.stringify(pages.url)} + (tag === "img" ? "icon.svg" : "api/recordings");
      document.body.append(element);
    })))`);
    expect(loaded).toEqual(["refused", "refused", "refused"]);
    await there(`new Promise((resolve) => {
    const frame = document.createElement("iframe");
    frame.src = ${JSON.stringify(pages.url)};
    frame.onload = () => resolve("");
    document.body.append(frame);
  })`);
    const inside = foreign.frames().find((frame) => frame !== foreign.mainFrame());
    expect(await inside?.locator("body").innerText()).not.toContain("Connect");
  },
);

test.skipIf(chromium === null)(
  "a name of another site that leads to this machine serves neither page nor data",
  async () => {
    // Names below localhost lead here by themselves, as a name does that its owner points at this machine.
    const evil = pages.url.replace("127.0.0.1", "evil.localhost");
    const { page } = await pages.open();
    for (const path of ["", "api/recordings"]) {
      const answer = await page.goto(evil + path);
      expect(answer?.status(), path).toBe(421);
    }
    const socket = await page.evaluate<string>(`new Promise((resolve) => {
      const ws = new WebSocket(location.origin.replace("http", "ws") + "/ws");
      ws.onopen = () => resolve("open");
      ws.onerror = () => resolve("refused");
    })`);
    expect(socket).toBe("refused");
  },
);

test.skipIf(chromium === null)("it opens no socket, and what it posts changes nothing", async () => {
  const socket = await there<string>(`new Promise((resolve) => {
    const ws = new WebSocket(${JSON.stringify(pages.url.replace("http", "ws"))} + "ws");
    ws.onopen = () => resolve("open");
    ws.onerror = () => resolve("refused");
  })`);
  expect(socket).toBe("refused");
  await there(
    `fetch(${JSON.stringify(pages.url)} + "api/jobs", { method: "POST", mode: "no-cors", body: '{"name":"evil"}' }).catch(() => 0)`,
  );
  const jobs = (await (await fetch(`${pages.url}api/jobs`)).json()) as { jobs: unknown[] };
  expect(jobs.jobs).toEqual([]);
  const page = await BarePage.open(pages.url);
  expect(page.status).toMatchObject({ link: "none", recording: null });
  page.close();
});

test.skipIf(chromium === null)(
  "our own page asks nobody else for anything, and runs no script that stands in it",
  async () => {
    const { page, errors } = await pages.open();
    const asked: string[] = [];
    page.on("request", (request) => asked.push(request.url()));
    await page.reload();
    await page.getByRole("radio", { name: "Bench vehicle", exact: true }).check();
    await page.getByRole("button", { name: "Connect and record" }).click();
    await page.getByRole("button", { name: /Stop recording/ }).waitFor();
    expect(asked.length).toBeGreaterThan(3);
    expect(asked.filter((url) => !url.startsWith(pages.url) && !/^(?:data|blob):/.test(url))).toEqual([]);
    await page.evaluate(`(() => {
    const script = document.createElement("script");
    script.textContent = "document.title = 'injected'";
    document.head.append(script);
  })()`);
    expect(await page.title()).not.toBe("injected");
    expect(errors.filter((text) => !text.includes("Content Security Policy"))).toEqual([]);
    await page.getByRole("button", { name: "Disconnect", exact: true }).click();
    await page.getByRole("button", { name: "Disconnect", exact: true }).waitFor({ state: "detached" });
  },
  120_000,
);
