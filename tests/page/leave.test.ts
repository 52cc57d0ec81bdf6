import { afterEach, expect, test, vi } from "vitest";
import { isCranksideError } from "../../shared/errors.ts";
import { askedFor, leavingFile, toldIn } from "../../src/page/lib/app/leave.ts";

afterEach(() => vi.unstubAllGlobals());

function answering(body: string, init: ResponseInit): void {
  vi.stubGlobal("fetch", () => Promise.resolve(new Response(body, init)));
}

test("a refusal is told with the program's own code and words, in whatever form it comes", async () => {
  answering('{"code":"file-unwritable","message":"the file cannot be written; at /x"}', { status: 500 });
  await expect(askedFor("http://x/bundle.zip")).rejects.toSatisfy(
    (error) => isCranksideError(error, "file-unwritable") && error.message.includes("at /x"),
  );
  expect(toldIn("the page is not built\n").message).toContain("the page is not built");
  expect(toldIn('{"code":"of-tomorrow","message":"new"}').code).toBe("server-failed");
  expect(toldIn("").message).toContain("no answer");
});

test("a file leaves under the name that the program gives it, else under ours", async () => {
  const named = { "content-disposition": 'attachment; filename="2024-03-02-van.zip"' };
  answering("zip", { status: 200, headers: named });
  expect(await leavingFile("http://x/bundle.zip", "other.zip")).toMatchObject({ name: "2024-03-02-van.zip" });
  answering("zip", { status: 200 });
  const { blob, name } = await leavingFile("http://x/bundle.zip", "other.zip");
  expect([name, await blob.text()]).toEqual(["other.zip", "zip"]);
  const leftOut = { "crankside-left-out": encodeURIComponent("The photo „Öl“ is not in here.") };
  answering("zip", { status: 200, headers: leftOut });
  expect((await leavingFile("http://x/bundle.zip", "a.zip")).leftOut).toBe("The photo „Öl“ is not in here.");
});

test("a program that is away, and a file that breaks off midway, are told", async () => {
  vi.stubGlobal("fetch", () => Promise.reject(new TypeError("Failed to fetch")));
  await expect(askedFor("http://x/note.html")).rejects.toSatisfy((e) => isCranksideError(e, "link-closed"));
  const broken = new ReadableStream({
    start: (controller) => controller.error(new TypeError("network error")),
  });
  vi.stubGlobal("fetch", () => Promise.resolve(new Response(broken, { status: 200 })));
  await expect(leavingFile("http://x/bundle.zip", "a.zip")).rejects.toSatisfy((e) =>
    isCranksideError(e, "link-closed"),
  );
});
