import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { verifyRecording, verifyStatuses } from "../../src/recorder/verify.ts";
import { eventLine, headerLine, linkStates } from "../../shared/recording/format.ts";
import { protocolIds } from "../../shared/protocols.ts";
import { unitIds } from "../../shared/units.ts";
import { vehicleFactsSchema } from "../../shared/vehicle.ts";
import { file, readBack } from "./support.ts";

const page = readFileSync(join(import.meta.dirname, "../../recordings/FORMAT.md"), "utf8");
const example = /```ndjson\n([^`]*)```/.exec(page)?.[1] ?? "";

test("the page's example can be read with a JSON parser and its hashes with SHA-256, as the page says", () => {
  const lines = example.split("\n").slice(0, -1);
  let before = "";
  let ends = 0;
  for (const [i, line] of lines.entries()) {
    const object = JSON.parse(line) as Record<string, unknown>;
    if (i === 0) expect(object).toMatchObject({ format: "crankside-recording", version: 1 });
    else expect(typeof object["t"]).toBe("number");
    if (object["k"] === "end") {
      expect(object["sha256"]).toBe(createHash("sha256").update(before, "utf8").digest("hex"));
      ends += 1;
    }
    before += `${line}\n`;
  }
  expect(ends).toBe(2);
});

test("the page's example is whole, is read without notice, and holds every kind of event", async () => {
  const path = file(example);
  expect(await verifyRecording(path)).toMatchObject({ state: "whole", dropped: 0, notices: [] });
  const { header, events, unknown, notices } = await readBack(path);
  expect(notices).toEqual([]);
  expect(unknown).toEqual([]);
  const kinds = [...new Set(events.map((e) => e.k))];
  const described = [...page.matchAll(/^- `([a-z]+)` \(`/gm)].map((m) => m[1] ?? "");
  for (const kind of kinds) expect(described).toContain(kind);
  expect(kinds.sort()).toEqual(["end", "facts", "link", "mark", "notice", "s", "stray", "x"]);
  // Written again, it is the same text: the page shows what the writer writes.
  expect(headerLine(header) + events.map(eventLine).join("")).toBe(example);
});

test("the page names every unit, protocol, link state, vehicle fact and exit status", () => {
  const named = new Set([...page.matchAll(/`([^`\n]+)`/g)].map((m) => m[1]));
  for (const word of [...unitIds, ...protocolIds, ...linkStates, ...Object.keys(vehicleFactsSchema.shape)]) {
    expect(named, word).toContain(word);
  }
  for (const [state, status] of Object.entries(verifyStatuses)) {
    expect(page).toMatch(new RegExp(`^- \\*\\*${status}, ${state.replace("-", " ")}\\*\\*`, "m"));
  }
});
