/** What takes longest is begun first, so that it is not waited for alone at the end. */
import { BaseSequencer } from "vitest/node";

/** Begun in this order; of the rest, files of processes of their own come before those that share one. */
const first = [
  "browser/visit",
  "browser/drops",
  "browser/",
  "reliability/",
  "cli/",
  "server/",
  "prove/",
  "link/",
  // They wait for a line in real time, beside what needs the processor.
  "polling/serialLine",
  "polling/tcpLine",
  "interpret/bench",
  "recordings.test",
];

/** @param {string} id  Path of a file of tests. */
function place(id) {
  const at = first.findIndex((part) => id.includes(`/tests/${part}`));
  return at < 0 ? first.length : at;
}

export class LongestFirst extends BaseSequencer {
  /** @param {Parameters<BaseSequencer["sort"]>[0]} files */
  async sort(files) {
    const sorted = await super.sort(files);
    const rank = (file) => (file.project.config.isolate ? 0 : 1);
    return sorted.toSorted((a, b) => rank(a) - rank(b) || place(a.moduleId) - place(b.moduleId));
  }
}
