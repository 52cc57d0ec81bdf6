/** The vocabulary of causes, hand checks and what speaks for what. Tables are written in these shapes. */

export const complaints = [
  "no-start",
  "starts-and-dies",
  "rough",
  "lean",
  "rich",
  "not-charging",
  "cranks-slowly",
  "hard-hot-start",
  "no-power",
  "surges",
  "overcharges",
  "lamp-on",
  "no-answer",
] as const;
export type Complaint = (typeof complaints)[number];

/** In plain words, for the sheet. */
export const complaintWords: Readonly<Record<Complaint, string>> = {
  "no-start": "does not start, or hardly",
  "starts-and-dies": "starts and dies",
  rough: "runs rough or misfires",
  lean: "runs lean",
  rich: "runs rich",
  "not-charging": "does not charge its battery",
  "cranks-slowly": "cranks slowly",
  "hard-hot-start": "starts badly when hot",
  "no-power": "has no power",
  surges: "surges or hunts",
  overcharges: "overcharges its battery",
  "lamp-on": "runs with the MIL on",
  "no-answer": "no module answers the adapter, or one fell silent",
};

/** A check that makes sense for a complaint makes sense for those like it. */
export const akin: Readonly<Partial<Record<Complaint, readonly Complaint[]>>> = {
  "cranks-slowly": ["no-start", "not-charging"],
  "hard-hot-start": ["no-start", "starts-and-dies", "rich"],
  "no-power": ["lean", "rough"],
  surges: ["rough", "lean", "rich"],
  overcharges: ["not-charging"],
  "lamp-on": ["rough", "lean", "rich"],
};

/** What the engine must be able to do for a check: each state includes those before it. */
export const states = ["key", "draws", "turns", "runs"] as const;
export type State = (typeof states)[number];

export const stateWords: Readonly<Record<State, string>> = {
  key: "key on is enough",
  draws: "the starter must draw current",
  turns: "the starter must turn the engine",
  runs: "the engine must run",
};

/** What an engine with this complaint can do. */
export const able: Readonly<Record<Complaint, State>> = {
  "no-start": "turns",
  "starts-and-dies": "turns",
  rough: "runs",
  lean: "runs",
  rich: "runs",
  "not-charging": "runs",
  "cranks-slowly": "turns",
  "hard-hot-start": "runs",
  "no-power": "runs",
  surges: "runs",
  overcharges: "runs",
  "lamp-on": "runs",
  "no-answer": "key",
};

/** Vehicles a row is for; every one when left out. A fact that nobody entered excludes nothing. */
export interface Only {
  readonly fuel?: readonly ("petrol" | "diesel" | "ethanol" | "gas" | "other")[];
  readonly metering?: "air-flow" | "manifold-pressure";
  readonly banksAtLeast?: number;
}

/** From, to. Money in whole units of the person's currency (common practice, euros or dollars, an independent). */
export type Span = readonly [low: number, high: number];

export interface CauseRow {
  readonly id: string;
  readonly name: string;
  /** What is broken, in plain words. */
  readonly about: string;
  /** Where it lives. */
  readonly place: string;
  /** Relative frequency by complaint, about per hundred vehicles with that complaint. Left out: not a cause of it. */
  readonly weight: Readonly<Partial<Record<Complaint, number>>>;
  readonly repair: {
    /** Causes with the same word are mended by one act. */
    readonly act?: string;
    readonly does: string;
    /** The part that is bought; null when nothing is. */
    readonly part: string | null;
    readonly money: Span;
    readonly minutes: Span;
  };
  /** Money that is gone when the repair was done and this was not it; the time is gone in any case. */
  /** How it is proved in the trade: what is wrong at the part before, and right after. */
  readonly proof: string;
  readonly badGuess: { readonly money: number; readonly words: string };
  /** Comes and goes by itself: touching anything nearby may make it vanish for a while. */
  readonly intermittent?: true;
  readonly only?: Only;
  readonly source: string;
}

/** How often something is met: under each cause that changes it, and otherwise. 0 to 1, both ends left out. */
export type Often<C extends string = string> = Readonly<{ otherwise: number } & Partial<Record<C, number>>>;

export interface OutcomeRow<C extends string = string> {
  readonly id: string;
  /** What the person sees, as the label of a key. */
  readonly text: string;
  readonly means: string;
  /** Readings from (inclusive) to (exclusive) are this outcome; left out on one side: open. */
  readonly from?: number;
  readonly to?: number;
  /** What a healthy vehicle shows in this respect. */
  readonly normal?: true;
  /** Why a healthy outcome speaks for some cause all the same; without it none does. */
  readonly why?: string;
  /** Left out for one outcome of each check: what is left of the others. */
  readonly often?: Often<C>;
}

/** How several readings, one a cylinder, become the one figure that is judged. */
export type Figure = "value" | "lowest-of-highest" | "furthest-from-mean" | "highest" | "lowest";

/** The second figure of a reading that is judged by its difference. */
export interface Beside {
  /** What the meter shows, and the other figure: "relay's output, to ground" and "battery, at the same moment". */
  readonly shown: string;
  readonly what: string;
  /** What the two are called in the sum: "at the relay", "at the battery", and what is left: "lost". */
  readonly words: readonly [shown: string, beside: string, left: string];
  /** Which of the two is taken from the other. */
  readonly take: "shown" | "beside";
  /** What each of the two can be. */
  readonly possible: Span;
  /** Channels of a recording that know the other figure, best first. */
  readonly channels: readonly string[];
}

export interface ReadingRow {
  readonly what: string;
  readonly unit: string;
  /** What can physically be: beyond it the reading is questioned. */
  readonly possible: Span;
  readonly figure: Figure;
  /** Source of the ranges on the outcomes. */
  readonly source: string;
  /**
   * What counts is a difference: the person enters what the meter shows, and the other figure beside it. A reading
   * without the other figure is the difference itself.
   */
  readonly beside?: Beside;
  /** Ranges are those of a 12 V system; of one of 24 V, two batteries in a row, what is entered is halved. */
  readonly perBattery?: true;
  /** A figure so large is more likely another thing than the one that is asked for: the outcome has to be chosen. */
  readonly doubtful?: { readonly from: number; readonly words: string };
  /** The range in the vehicle's facts that replaces the bounds of the outcome so named. */
  readonly replaced?: { readonly by: "fuelPressureKPa"; readonly outcome: string };
}

/** A check that was done, with one of these outcomes; any outcome when left out. */
export interface Before {
  readonly check: string;
  readonly outcomes?: readonly string[];
}

export interface HandCheckRow<C extends string = string> {
  readonly id: string;
  readonly name: string;
  readonly steps: readonly string[];
  readonly tools: readonly string[];
  /** Altogether, and when what it opens is open already. */
  readonly minutes: number;
  readonly minutesOpen?: number;
  /** What has to be opened or connected for it; several checks share one. */
  readonly opens?: string;
  readonly money: number;
  readonly caution: readonly string[] | "none needed";
  readonly state: State;
  /** A question to whoever drives it: it turns the search, and parts no two causes by itself. */
  readonly asks?: true;
  /** Complaints it makes sense for; every one when left out. */
  readonly for?: readonly Complaint[];
  readonly only?: Only;
  readonly reading?: ReadingRow;
  /**
   * Evidence of one group tells one story: the strongest counts full, the second half, the third a third. The same
   * quantity read once more is the same story; another instrument at the part, or an experiment, is one of its own.
   */
  readonly group: string;
  readonly outcomes: readonly OutcomeRow<C>[];
  /** Checks that come first, and with which outcomes they let this one follow. */
  readonly after?: readonly (Before & {
    /** Another check that does as well. */
    readonly or?: Before;
  })[];
  readonly source: string;
}
