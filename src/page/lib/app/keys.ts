export interface KeyRow {
  readonly keys: readonly string[];
  readonly does: string;
}

export interface KeyGroup {
  readonly about: string;
  readonly rows: readonly KeyRow[];
}

/** Keys of one part of the page, which hears them itself for as long as it is there. */
export const partKeys = { put: "j", nextCheck: "x", posture: "w" } as const;
export type PartKey = keyof typeof partKeys;

/** Every key of the page, for the help sheet. */
export const keyGroups: readonly KeyGroup[] = [
  {
    about: "Marks and the sheet",
    rows: [
      {
        keys: ["m"],
        does: "drop a mark at the cursor, or at the live end; then type its name, Enter keeps it",
      },
      { keys: ["m held"], does: "mark the stretch for as long as the key is down" },
      { keys: ["i"], does: "begin a marked stretch; again: end it" },
      { keys: ["n", "p"], does: "go to the next mark, the one before" },
      { keys: [partKeys.put], does: "put the stretch in view on the job sheet" },
      {
        keys: [partKeys.nextCheck],
        does: "go to the next check on the job sheet; there a number chooses an outcome, 0: could not tell",
      },
    ],
  },
  {
    about: "Time",
    rows: [
      { keys: ["←", "→"], does: "earlier, later" },
      { keys: ["Shift ←", "Shift →"], does: "a whole screen earlier, later" },
      { keys: ["+", "=", "−"], does: "closer with either of the first two, wider" },
      { keys: ["a"], does: "all of the recording" },
      { keys: ["l", "End"], does: "follow the live end" },
      { keys: [",", "."], does: "cursor to the reading before, the next one" },
      { keys: ["d"], does: "measure from the cursor on; again: end measuring" },
      { keys: ["k", "Shift k"], does: "go to the next crank, the one before" },
      { keys: ["s", "Shift s"], does: "go to the next sign, the one before" },
      { keys: ["Space"], does: "play back from the cursor; again: stop" },
      { keys: ["[", "]"], does: "play slower, faster" },
      { keys: ["Esc"], does: "let go of the cursor; leave what is open" },
    ],
  },
  {
    about: "Recording and screen",
    rows: [
      { keys: ["r"], does: "stop the recording, or start a new one" },
      { keys: ["f"], does: "far view: speed and volts fill the screen" },
      { keys: [partKeys.posture], does: "chart wide, or the sheet; also switches by itself with the engine" },
      { keys: ["g"], does: "choose lanes" },
      { keys: ["1", "2", "3", "4"], does: "lanes, cranks laid over each other, mixture, lanes as a table" },
      { keys: ["o"], does: "lay another recording under this one" },
      { keys: ["u"], does: "metric or US units" },
      { keys: ["h"], does: "hookup: connect, or open a recording" },
      { keys: ["?"], does: "this sheet" },
      { keys: ["c held"], does: "bench vehicle only: crank" },
    ],
  },
];

/** Keys that belong to what has the focus, or to the sheet beside the chart: they are not the dispatcher's. */
export const focusKeys: KeyGroup = {
  about: "Where the focus is",
  rows: [
    { keys: ["↑", "↓"], does: "on ⇅: the lane a place up, down; on a lane's lower edge: lower, higher" },
    { keys: ["Enter"], does: "on a lane's lower edge: fold it; then again: unfold it" },
    {
      keys: ["PgUp", "PgDn", "Home", "End"],
      does: "on the strip of the whole recording: a screen earlier, later, to its beginning, to its end",
    },
    { keys: ["Ctrl z", "Ctrl Shift z"], does: "on the job sheet: take back, do again" },
  ],
};

export type KeyAct =
  | { readonly act: "mark" | "interval" | "whole" | "follow" | "release" | "record" }
  | { readonly act: "far" | "lanes" | "units" | "hookup" | "help" | "crank" | "measure" | "play" | "compare" }
  | { readonly act: "next-mark" | "next-crank" | "next-sign" | "rate"; readonly by: 1 | -1 }
  | { readonly act: "sheet"; readonly sheet: "lanes" | "cranks" | "mixture" | "table" }
  | { readonly act: "pan" | "zoom" | "step"; readonly by: number };

const plain: Readonly<Record<string, KeyAct>> = {
  m: { act: "mark" },
  i: { act: "interval" },
  n: { act: "next-mark", by: 1 },
  p: { act: "next-mark", by: -1 },
  ArrowLeft: { act: "pan", by: -0.1 },
  ArrowRight: { act: "pan", by: 0.1 },
  "+": { act: "zoom", by: 0.7 },
  "=": { act: "zoom", by: 0.7 },
  "-": { act: "zoom", by: 1 / 0.7 },
  a: { act: "whole" },
  l: { act: "follow" },
  End: { act: "follow" },
  ",": { act: "step", by: -1 },
  ".": { act: "step", by: 1 },
  d: { act: "measure" },
  k: { act: "next-crank", by: 1 },
  K: { act: "next-crank", by: -1 },
  s: { act: "next-sign", by: 1 },
  S: { act: "next-sign", by: -1 },
  " ": { act: "play" },
  "[": { act: "rate", by: -1 },
  "]": { act: "rate", by: 1 },
  "1": { act: "sheet", sheet: "lanes" },
  "2": { act: "sheet", sheet: "cranks" },
  "3": { act: "sheet", sheet: "mixture" },
  "4": { act: "sheet", sheet: "table" },
  o: { act: "compare" },
  Escape: { act: "release" },
  r: { act: "record" },
  f: { act: "far" },
  g: { act: "lanes" },
  u: { act: "units" },
  h: { act: "hookup" },
  "?": { act: "help" },
  c: { act: "crank" },
};

export interface KeyPress {
  readonly key: string;
  readonly shiftKey: boolean;
  readonly ctrlKey: boolean;
  readonly altKey: boolean;
  readonly metaKey: boolean;
}

/** What a key means on the chart; null for one that is not ours. */
export function keyAct(press: KeyPress): KeyAct | null {
  if (press.ctrlKey || press.altKey || press.metaKey) return null;
  if (press.shiftKey && press.key === "ArrowLeft") return { act: "pan", by: -1 };
  if (press.shiftKey && press.key === "ArrowRight") return { act: "pan", by: 1 };
  return Object.hasOwn(plain, press.key) ? (plain[press.key] ?? null) : null;
}

/** Whose key it is, of the parts that hear their own; null for none. */
export function partOf(press: KeyPress): PartKey | null {
  if (press.ctrlKey || press.altKey || press.metaKey) return null;
  for (const part of ["put", "nextCheck", "posture"] as const) if (partKeys[part] === press.key) return part;
  return null;
}
