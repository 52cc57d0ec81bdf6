/**
 * `npm run prove -- [options]`: the proving set; with `--shop` the simulated shop, with `--data FOLDER` recordings of real
 * vehicles; `--help` shows the options.
 */
import { loading } from "../support/loading.js";

const args = process.argv.slice(2);
process.exitCode = args.includes("--shop")
  ? await loading("/tests/prove/shop.ts", ({ shop }) => shop(args))
  : args.includes("--data")
    ? await loading("/tests/prove/data.ts", ({ data }) => data(args))
    : await loading("/tests/prove/prove.ts", ({ prove }) => prove(args, import.meta.filename));
// A parent that listens would keep this process waiting.
if (process.connected) process.disconnect();
