/** What every kind of line keeps to. */
import { afterEach, describe, expect, test } from "vitest";
import type { CranksideError } from "../../shared/errors.ts";
import { isCranksideError } from "../../shared/errors.ts";
import type { ByteEnd } from "../../shared/wire.ts";

export interface Line {
  readonly near: ByteEnd;
  /** The same end as `near` on an echo plug. */
  readonly far: ByteEnd;
  /** Makes the other side vanish. */
  readonly lose: () => Promise<void>;
  readonly cleanUp: () => Promise<void>;
}

export interface LineKind {
  readonly name: string;
  readonly missing: string | null;
  /** An echo plug: one end only, which nobody can take away. */
  readonly echo: boolean;
  /** Bytes written just before the other side closes still arrive. */
  readonly keepsLastBytes: boolean;
  readonly open: () => Promise<Line>;
}

/** Resolves with the first `count` bytes of an end. */
function collect(end: ByteEnd, count: number): Promise<Uint8Array> {
  return new Promise((resolve) => {
    const bytes: number[] = [];
    end.onBytes((chunk) => {
      bytes.push(...chunk);
      if (bytes.length >= count) resolve(Uint8Array.from(bytes));
    });
  });
}

/** Writes in pieces whose lengths follow from a seed, without waiting in between. */
async function writeInPieces(end: ByteEnd, bytes: Uint8Array, seed: number): Promise<void> {
  const writes: Promise<void>[] = [];
  let state = seed;
  for (let at = 0; at < bytes.length;) {
    state = (state * 1103515245 + 12345) % 2147483648;
    const length = 1 + (state % 700);
    writes.push(end.write(bytes.subarray(at, at + length)));
    at += length;
  }
  await Promise.all(writes);
}

/** Every byte value in every neighbourhood of a step; 256 * `rounds` bytes. */
function allValues(rounds: number): Uint8Array {
  return Uint8Array.from({ length: 256 * rounds }, (_, i) => (i * (2 * Math.floor(i / 256) + 1)) & 0xff);
}

function closeOf(end: ByteEnd): Promise<CranksideError | null> {
  return new Promise((resolve) => {
    end.onClose(resolve);
  });
}

export function contractOf(kind: LineKind): void {
  const itest = test.skipIf(kind.missing !== null);
  const suffix = kind.missing === null ? "" : ` (skipped: ${kind.missing})`;

  describe(`${kind.name}${suffix}`, () => {
    const opened: Line[] = [];
    const open = async (): Promise<Line> => {
      const line = await kind.open();
      opened.push(line);
      return line;
    };
    afterEach(async () => {
      for (const { near, far, cleanUp } of opened.splice(0)) {
        await Promise.all([near.close(), far.close()]);
        await cleanUp();
      }
    });

    itest("every byte value goes through whole and in order, both ways", async () => {
      const { near, far } = await open();
      const there = allValues(32);
      const atFar = collect(far, there.length);
      await writeInPieces(near, there, 1);
      expect(Buffer.compare(await atFar, there)).toBe(0);
      if (far === near) return;
      const back = allValues(24).reverse();
      const atNear = collect(near, back.length);
      await writeInPieces(far, back, 2);
      expect(Buffer.compare(await atNear, back)).toBe(0);
    });

    itest("bytes that came before anybody listens are kept", async () => {
      const { near, far } = await open();
      await near.write(Uint8Array.from([0x41, 0x0c, 0x00]));
      await near.write(Uint8Array.from([0xff, 0x3e]));
      // The answer to a later write proves that the earlier ones have arrived.
      if (far !== near) {
        const sign = collect(near, 1);
        await far.write(Uint8Array.of(1));
        await sign;
      }
      expect([...(await collect(far, 5))]).toEqual([0x41, 0x0c, 0x00, 0xff, 0x3e]);
    });

    itest("the writer may change its bytes after the call", async () => {
      const { near, far } = await open();
      const bytes = Uint8Array.from([1, 2, 3]);
      const arrived = collect(far, 3);
      const written = near.write(bytes);
      bytes.fill(9);
      await written;
      expect([...(await arrived)]).toEqual([1, 2, 3]);
    });

    itest("closing it ourselves is reported once, with null, also to who asks late", async () => {
      const { near } = await open();
      const reports: unknown[] = [];
      near.onClose((why) => reports.push(why));
      await near.close();
      await near.close();
      expect(reports).toEqual([null]);
      const late = await open();
      await late.near.close();
      expect(await closeOf(late.near)).toBe(null);
    });

    itest("a write after the close rejects with link-closed", async () => {
      const { near } = await open();
      await near.close();
      const outcome = await near.write(Uint8Array.of(1)).catch((error: unknown) => error);
      expect(isCranksideError(outcome, "link-closed")).toBe(true);
    });

    itest("writes under way settle when it is closed", async () => {
      const { near } = await open();
      const writes = Array.from({ length: 4 }, () => near.write(new Uint8Array(1024 * 1024)));
      const closing = near.close();
      const outcomes = await Promise.allSettled(writes);
      await closing;
      const rejections = outcomes.filter((outcome) => outcome.status === "rejected");
      expect(rejections.length).toBeGreaterThan(0);
      expect(rejections.every(({ reason }) => isCranksideError(reason, "link-closed"))).toBe(true);
    });

    if (kind.echo) return;

    itest("both ways at the same time", async () => {
      const { near, far } = await open();
      const there = allValues(8);
      const back = allValues(8).reverse();
      const arrived = Promise.all([collect(far, there.length), collect(near, back.length)]);
      await Promise.all([writeInPieces(near, there, 3), writeInPieces(far, back, 4)]);
      const [atFar, atNear] = await arrived;
      expect(Buffer.compare(atFar, there)).toBe(0);
      expect(Buffer.compare(atNear, back)).toBe(0);
    });

    itest("losing the other side is reported once, with an error, and ends all writes", async () => {
      const { near, lose } = await open();
      const reports: (CranksideError | null)[] = [];
      const lost = new Promise<void>((resolve) => {
        near.onClose((why) => {
          reports.push(why);
          resolve();
        });
      });
      await lose();
      await lost;
      const outcome = await near.write(Uint8Array.of(1)).catch((error: unknown) => error);
      expect(isCranksideError(outcome, "link-closed")).toBe(true);
      await near.close();
      await near.close();
      expect(reports.map((why) => why?.code)).toEqual(["link-failed"]);
      expect(reports[0]?.context.where).toBe(near.name);
    });

    itest("writes under way settle when it is lost", async () => {
      const { near, lose } = await open();
      const writes = Array.from({ length: 4 }, () => near.write(new Uint8Array(1024 * 1024)));
      const losing = lose();
      const outcomes = await Promise.allSettled(writes);
      await losing;
      const rejections = outcomes.filter((outcome) => outcome.status === "rejected");
      expect(
        rejections.every(
          ({ reason }) => isCranksideError(reason, "link-closed") || isCranksideError(reason, "link-failed"),
        ),
      ).toBe(true);
    });

    if (!kind.keepsLastBytes) return;

    itest("what was written before the other side closed arrives before the loss is told", async () => {
      const { near, far } = await open();
      const story: string[] = [];
      near.onBytes((bytes) => story.push(Buffer.from(bytes).toString("latin1")));
      const lost = new Promise<void>((resolve) => {
        near.onClose((why) => {
          story.push(why === null ? "closed" : why.code);
          resolve();
        });
      });
      await far.write(Buffer.from("LV RESET"));
      await far.close();
      await lost;
      expect(story).toEqual(["LV RESET", "link-failed"]);
    });
  });
}
