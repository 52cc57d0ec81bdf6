/** Parts of the sheet, in the order in which they stand. */
export const tabNames = {
  evidence: "Evidence",
  checks: "Hand checks",
  modules: "Modules",
  marks: "Marks",
  compare: "Before/after",
  job: "Job and note",
} as const;
export type TabId = keyof typeof tabNames;

/** Which of them is looked at; another recording leaves it. */
export const sheetTab: { open: TabId } = $state({ open: "evidence" });
