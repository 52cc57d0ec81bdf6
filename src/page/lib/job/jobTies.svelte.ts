import { tieWords, type TieState } from "../../../sheet/tied.ts";
import type { Tie } from "../../../sheet/job.ts";
import type { JobApi, TieStates } from "./jobApi.ts";

/** Whether the recordings that a sheet rests on are still as they were, as the program found them last. */
export class JobTies {
  readonly #api: JobApi;
  #states: TieStates = $state.raw([]);

  constructor(api: JobApi) {
    this.#api = api;
  }

  /** Rejects as asking the program does. */
  async look(job: string): Promise<void> {
    this.#states = await this.#api.ties(job);
  }

  forget(): void {
    this.#states = [];
  }

  /** What is put on the sheet now fits: its tie was made of what is there. */
  state({ file, sha256 }: Pick<Tie, "file" | "sha256">): TieState {
    return this.#states.find((s) => s.file === file && s.sha256 === sha256)?.state ?? "fits";
  }

  /** What is wrong with evidence, in words, or "". */
  problem(tie: Pick<Tie, "file" | "sha256">): string {
    const state = this.state(tie);
    return state === "fits" ? "" : tieWords[state];
  }

  /** What is wrong with any evidence from this file. */
  problemOfFile(file: string): string {
    const wrong = this.#states.find((s) => s.file === file && s.state !== "fits");
    return wrong === undefined ? "" : this.problem(wrong);
  }
}
