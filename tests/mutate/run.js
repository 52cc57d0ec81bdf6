/** `npm run mutate -- [ROOMS] [options]`: see mutate.ts. */
import { loading } from "../support/loading.js";

process.exitCode = await loading("/tests/mutate/mutate.ts", ({ main }) => main());
