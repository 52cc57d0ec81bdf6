import fc from "fast-check";
import { expect, test } from "vitest";
import { losePower } from "./power.ts";

test("power lost at any moment, with a disk that takes up to 0.4 s to sync: at most a second is lost", async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.integer({ min: 0, max: 6000 }),
      fc.constantFrom(5, 20, 333),
      fc.array(fc.integer({ min: 0, max: 400 }), { minLength: 1, maxLength: 8 }),
      fc.constantFrom(0, 1, 512, 4096),
      async (atMs, everyMs, syncs, zeros) => {
        let turn = 0;
        const syncMs = (): number => syncs[turn++ % syncs.length] ?? 0;
        const { lostMs, differing } = await losePower({ atMs, everyMs, syncMs, zeros });
        expect(lostMs).toBeLessThanOrEqual(1000 + everyMs);
        expect(differing).toBe(0);
      },
    ),
    { numRuns: 60 },
  );
}, 120_000);
