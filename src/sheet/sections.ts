/** The parts of a sheet, in the order in which they always stand. Any may be left out of a note by choice. */
export const sections = [
  "complaint",
  "vehicle",
  "modules",
  "cranks",
  "signs",
  "checks",
  "causes",
  "done",
  "compared",
  "conclusion",
  "open",
  "cautions",
] as const;
export type SectionId = (typeof sections)[number];

export const sectionTitles: Readonly<Record<SectionId, string>> = {
  complaint: "Complaint",
  vehicle: "Vehicle",
  modules: "What the modules say",
  cranks: "Cranks",
  signs: "Signs",
  checks: "Hand checks",
  causes: "Causes and their proof",
  done: "What was done",
  compared: "Before and after",
  conclusion: "Conclusion",
  open: "Still open",
  cautions: "Cautions that applied",
};
