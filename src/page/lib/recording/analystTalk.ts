/** What the page says to the thread on which recordings are read, and what it hears from it. */
import type { ToldCrank } from "../../../analyst/index.ts";
import type { Failure } from "../../../../shared/messages.ts";
import type { VehicleFacts } from "../../../../shared/vehicle.ts";
import type { Advice } from "../../../interpret/causes/adviceSchema.ts";
import type { AdviceOptions } from "../../../interpret/causes/advice.ts";
import type { Situation } from "../../../interpret/causes/evidence.ts";
import type { RegimeSpan } from "../../../interpret/folds/regimes.ts";
import type { Findings, Normal } from "../../../interpret/index.ts";
import type { ReadNews } from "../../../reading/index.ts";

export interface WantedRecording {
  /** As it is named in error messages. */
  readonly file: string;
  /** Where its bytes are, from that one on which is put behind it: a whole address, as a thread's own is another one. */
  readonly url: string;
  readonly live: boolean;
}

export interface ReadBy {
  /** These facts of the vehicle go before the recording's own. */
  readonly vehicle: VehicleFacts;
  /** What was learned of it. */
  readonly normal: Normal | undefined;
}

/** Times `at` are the page's: a thread's own clock began at another time. */
export type ToRecording =
  /** Live lines, which stand at byte `from` of the file. */
  | { readonly kind: "lines"; readonly from: number; readonly bytes: Uint8Array; readonly at: number }
  /** What the file holds beyond what is known is wanted; `ended`: and no more will come. Answered by `caught`. */
  | { readonly kind: "catch-up"; readonly ask: number; readonly ended: boolean }
  | ({ readonly kind: "read-by" } & ReadBy)
  /** Time went on, with or without readings. */
  | { readonly kind: "beat"; readonly at: number }
  /** Nothing can come for now. */
  | { readonly kind: "stand" }
  | { readonly kind: "close" };

export type ToAnalysts =
  | ({ readonly kind: "open"; readonly id: number } & WantedRecording)
  | { readonly kind: "to"; readonly id: number; readonly say: ToRecording }
  | { readonly kind: "weigh"; readonly ask: number; readonly about: WhatToWeigh; readonly soon: boolean };

export interface WhatToWeigh {
  readonly situation: Situation;
  readonly options: AdviceOptions;
}

export type FromRecording =
  | {
      readonly kind: "news";
      readonly news: ReadNews;
      /** Of the file, read so far. */
      readonly bytes: number;
      /** The last of it came as it was recorded, and not from the file. */
      readonly prompt: boolean;
      readonly spans?: readonly RegimeSpan[];
      readonly crank: ToldCrank | null;
    }
  | { readonly kind: "found"; readonly findings: Findings }
  | { readonly kind: "caught"; readonly ask: number; readonly failure: Failure | null };

export type FromAnalysts =
  | { readonly kind: "of"; readonly id: number; readonly say: FromRecording }
  | { readonly kind: "advice"; readonly ask: number; readonly advice: Advice };
