/** What to record or ask next where the tool reads the answer itself: no hand check, and no outcome to be entered. */
interface NextRecording {
  readonly text: string;
  /** Safety, where it needs a word of it. The vehicle's manual and local rules go first. */
  readonly caution?: string;
}

export const nextRecordings = {
  readiness: { text: "Look at readiness, warm-ups and distance since clearing, and ask who cleared." },
  "trim-load": {
    text: "Record idle, 2500 rpm held and a pull under load: the shape over air flow tells which.",
    caution: "On the road a second person reads; the driver never does.",
  },
  counters: { text: "Read the misfire counters of service 06 twice, some minutes of running apart." },
  "warm-idle": {
    text: "Record five minutes of warm idle, nothing touched.",
    caution: "Open air or an extraction hose: exhaust kills.",
  },
  faster: { text: "Ask for fewer channels so that each is read more often." },
  "crank-record": {
    text: "Record two cranks, a minute apart, key on ten seconds before each.",
    caution: "Neutral or park, brake on, hands, hair and leads clear of belts and fans. Rest the starter.",
  },
  "cylinder-strength": {
    text: "Record relative compression: three cranks of four seconds without firing, half a minute of rest between.",
    caution:
      "Disable fuel as the vehicle's manual says, or spark where it allows that: unburnt fuel harms the catalyst. Neutral or park, brake on, hands, hair and leads clear of belts and fans. Rest the starter.",
  },
  "plug-held": { text: "Hold the diagnostic plug, wiggle its lead, and watch for a gap." },
  "memory-saver": { text: "Power the adapter from elsewhere while cranking." },
  "codes-read": { text: "Read codes, freeze frame and readiness before anything is cleared." },
} as const satisfies Record<string, NextRecording>;

export type NextRecordingId = keyof typeof nextRecordings;
