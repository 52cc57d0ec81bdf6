/** What takes longest is begun first, so that it is not waited for alone at the end. */
import { BaseSequencer } from "vitest/node";

/** Begun in this order, project by project: a process serves the files of one, one after another. */
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

const projects = ["browser", "programs", "rooms"];

/** @param {string} id  Path of a file of tests. */
function place(id) {
  const at = first.findIndex((part) => id.includes(`/tests/${part}`));
  return at < 0 ? first.length : at;
}

export class LongestFirst extends BaseSequencer {
  /** @param {Parameters<BaseSequencer["sort"]>[0]} files */
  async sort(files) {
    const sorted = await super.sort(files);
    const rank = (file) => projects.indexOf(file.project.name);
    return sorted.toSorted((a, b) => rank(a) - rank(b) || place(a.moduleId) - place(b.moduleId));
  }
}
