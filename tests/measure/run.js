/** `npm run measure -- [part ...]`: prints figures, each beside a floor measured in the same run; `--help` names the parts. */
import { loading } from "../support/loading.js";

await loading("/tests/measure/measure.ts", ({ measure }) => measure(process.argv.slice(2)));
