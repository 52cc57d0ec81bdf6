import { join } from "node:path";
import { realClock } from "../../adapters/link/index.ts";
import type { ServerOptions } from "../../src/server/index.ts";

/** A service on a free port that has no page to give: for what comes in by its doors. `folder` is the test's own. */
export const withoutPage = (folder: string) =>
  ({
    port: 0,
    pageFolder: join(folder, "no-page"),
    folders: { own: folder, bundled: null },
    clock: realClock,
    writer: "test",
  }) satisfies ServerOptions;
