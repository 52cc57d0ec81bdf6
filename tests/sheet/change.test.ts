import fc from "fast-check";
import { expect, test } from "vitest";
import { isCranksideError } from "../../shared/errors.ts";
import { applyChanges, folded, reversed, setting, type Change } from "../../src/sheet/change.ts";
import { inOrder, jobText, readJob } from "../../src/sheet/job.ts";
import { created, jobWith } from "./support.ts";

const later = "2024-03-02T10:00:00.000+01:00";

function codeOf(act: () => unknown): string {
  try {
    act();
  } catch (error) {
    if (isCranksideError(error)) return error.code;
    throw error;
  }
  return "no error";
}

const caution = (text: string, order = 1) => ({ order, text });

test("two pages that changed different fields are both kept", () => {
  const base = jobWith({ texts: { complaint: "dead" } });
  const first = applyChanges(base, [{ path: ["texts", "done"], after: "cleaned" }], later);
  const second = applyChanges(first.job, [{ path: ["who", "customer"], before: "", after: "M. G." }], later);
  expect(second.conflicts).toEqual([]);
  expect(second.job.texts).toEqual({ complaint: "dead", done: "cleaned" });
  expect(second.job.who.customer).toBe("M. G.");
  expect(second.job.revision).toBe(base.revision + 2);
});

test("of one field that both changed the later stands, and the other's words are handed back", () => {
  const base = jobWith({ texts: { done: "old" } });
  const theirs = applyChanges(base, [{ path: ["texts", "done"], before: "old", after: "theirs" }], later);
  const ours = applyChanges(theirs.job, [{ path: ["texts", "done"], before: "old", after: "ours" }], later);
  expect(ours.job.texts.done).toBe("ours");
  expect(ours.conflicts).toEqual([{ path: ["texts", "done"], theirs: "theirs", yours: "ours" }]);
});

test("a save that is sent twice is kept once and is no conflict", () => {
  const change: Change = { path: ["texts", "done"], after: "cleaned" };
  const once = applyChanges(jobWith({}), [change], later);
  const twice = applyChanges(once.job, [change], later);
  expect(twice).toEqual({ job: once.job, conflicts: [], changed: false });
});

test("an item that the other page took off can still be written, and comes back with its words", () => {
  const base = jobWith({ cautions: { a: caution("one") } });
  const off = applyChanges(base, [{ path: ["cautions", "a", "removed"], after: true }], later).job;
  expect(inOrder(off.cautions)).toEqual([]);
  const written = applyChanges(
    off,
    [{ path: ["cautions", "a", "text"], before: "one", after: "two" }],
    later,
  );
  expect(written.conflicts).toEqual([]);
  const back = applyChanges(
    written.job,
    [{ path: ["cautions", "a", "removed"], before: true, after: false }],
    later,
  );
  expect(inOrder(back.job.cautions).map((c) => c.text)).toEqual(["two"]);
});

test("undoing takes a new item off the sheet, and never deletes it", () => {
  const put: Change = { path: ["cautions", "a"], after: caution("one") };
  const made = applyChanges(jobWith({}), [put], later).job;
  const undone = applyChanges(made, reversed([put]), later).job;
  expect(inOrder(undone.cautions)).toEqual([]);
  expect(undone.cautions["a"]?.text).toBe("one");
  const redone = applyChanges(undone, reversed(reversed([put])), later).job;
  expect(inOrder(redone.cautions)).toHaveLength(1);
  expect(codeOf(() => applyChanges(made, [{ path: ["cautions", "a"], before: caution("one") }], later))).toBe(
    "job-invalid",
  );
});

test.each([
  [["id"], "other"],
  [["revision"], 7],
  [["format"], "x"],
  [["who", "customer", "x"], "deeper"],
  [["texts", "nowhere"], "x"],
  [["texts", "constructor"], "x"],
  [["constructor", "prototype"], "x"],
  [["clips", "a", "caption"], "of no clip"],
  [["cautions", "a"], { order: 1 }],
  [["vehicle", "cylinders"], 900],
  [["archived"], "yes"],
] as const)("a change to %j is refused and changes nothing", (path, after) => {
  const job = jobWith({});
  const before = jobText(job);
  expect(codeOf(() => applyChanges(job, [{ path, after: after }], later))).toBe("job-invalid");
  expect(jobText(job)).toBe(before);
  expect(({} as Record<string, unknown>)["x"]).toBeUndefined();
});

test("what is read back is what was written; a newer format and other files are told apart", () => {
  const job = jobWith({ texts: { done: "cleaned" }, cautions: { a: caution("hot") } });
  expect(readJob(jobText(job), "job.json")).toEqual(job);
  expect(codeOf(() => readJob("{", "job.json"))).toBe("job-invalid");
  expect(codeOf(() => readJob("[]", "job.json"))).toBe("job-invalid");
  expect(codeOf(() => readJob(JSON.stringify({ ...job, version: 2 }), "job.json"))).toBe("newer-format");
  expect(codeOf(() => readJob(JSON.stringify({ ...job, clips: { a: {} } }), "job.json"))).toBe("job-invalid");
});

const step = fc.record({
  path: fc.constantFrom(
    ["texts", "done"],
    ["texts", "open"],
    ["who", "customer"],
    ["vehicle", "name"],
    ["cautions", "a", "text"],
    ["cautions", "a", "order"],
  ),
  words: fc.string({ maxLength: 20 }),
  number: fc.integer({ min: 0, max: 99 }),
});

test("any run of edits, taken back, leaves the job as it was; folding a run changes nothing of what it does", () => {
  fc.assert(
    fc.property(fc.array(step, { maxLength: 12 }), (steps) => {
      const start = jobWith({ cautions: { a: caution("one") } });
      let job = start;
      const done: Change[] = [];
      for (const { path, words, number } of steps) {
        const change = setting(job, path, path.at(-1) === "order" ? number : words);
        if (change === null) continue;
        done.push(change);
        job = applyChanges(job, [change], later).job;
      }
      const bare = (j: typeof job): object => ({ ...j, revision: 0, changed: "" });
      const atOnce = applyChanges(start, folded(done), later);
      expect(atOnce.conflicts).toEqual([]);
      expect(bare(atOnce.job)).toEqual(bare(job));
      expect(bare(applyChanges(job, reversed(done), later).job)).toEqual(bare(start));
    }),
  );
});

test("merging two pages in either order keeps every field that only one of them changed", () => {
  fc.assert(
    fc.property(fc.array(step, { maxLength: 6 }), fc.array(step, { maxLength: 6 }), (a, b) => {
      const start = jobWith({ cautions: { a: caution("one") } });
      const changesOf = (steps: typeof a): Change[] =>
        folded(
          steps.flatMap(({ path, words, number }) => {
            const change = setting(start, path, path.at(-1) === "order" ? number : words);
            return change === null ? [] : [change];
          }),
        );
      const [first, second] = [changesOf(a), changesOf(b)];
      const merged = applyChanges(applyChanges(start, first, later).job, second, later);
      const paths = (changes: readonly Change[]): Set<string> =>
        new Set(changes.map((c) => c.path.join("/")));
      const shared = new Set([...paths(first)].filter((path) => paths(second).has(path)));
      for (const { path } of merged.conflicts) expect(shared.has(path.join("/"))).toBe(true);
      for (const change of second) {
        expect(setting(merged.job, change.path, change.after)).toBeNull();
      }
      const touched = paths(second);
      for (const change of first)
        if (!touched.has(change.path.join("/")))
          expect(setting(merged.job, change.path, change.after)).toBeNull();
    }),
  );
});

test("a job carries when it was changed", () => {
  const { job } = applyChanges(jobWith({}), [{ path: ["archived"], before: false, after: true }], later);
  expect([job.created, job.changed]).toEqual([created, later]);
});
