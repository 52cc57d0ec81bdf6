import { addressText, parseAddress, type Address } from "../../../../shared/address.ts";
import { CranksideError, isCranksideError } from "../../../../shared/errors.ts";
import {
  readMessage,
  recordingListSchema,
  type BenchVehicleInfo,
  type Failure,
  type PortInfo,
  type RecordingEntry,
} from "../../../../shared/messages.ts";
import { Carry, type Reach } from "./carry/carry.svelte.ts";
import { pageClock } from "../app/clock.ts";
import { practice } from "../app/practice.svelte.ts";
import type { PracticeCaseFile } from "../../../sheet/practiceCase.ts";
import { failureOf } from "../app/failure.ts";
import { placesBeside } from "./places.ts";
import { isLikely } from "./portWords.ts";
import { Summaries } from "../recording/summaries.svelte.ts";
import type { SettingsState } from "../app/settings.svelte.ts";
import type { NextFacts } from "../job/nextFacts.svelte.ts";
import type { Shown } from "../recording/shown.ts";
import type { Answer, Server } from "./server.svelte.ts";

/** What the first screen needs of the page. */
export interface HookupPage {
  readonly server: Server;
  readonly settings: SettingsState;
  readonly nextFacts: NextFacts;
  readonly live: Shown | null;
  connect(address: string, more: { readonly unconfirmed?: true }): Promise<Answer>;
}

export type Where = "serial" | "tcp" | "browser" | "bench" | "file";

export const usualBauds: readonly number[] = [9600, 38400, 115200, 230400, 500000];

const likelyPort = (ports: readonly PortInfo[]): PortInfo | undefined => ports.find(isLikely);

/** What is chosen on the first screen, and what there is to choose from. */
export class Hookup {
  readonly #page: HookupPage;
  /** The adapter that this page's browser reaches. */
  readonly carry: Carry;
  /** null: what suits, until the person chooses. */
  #where: Where | null = $state(null);
  #ports: readonly PortInfo[] | null = $state.raw(null);
  #portsFailure: Failure | null = $state.raw(null);
  #recordings: readonly RecordingEntry[] | null = $state.raw(null);
  #recordingsFailure: Failure | null = $state.raw(null);
  #failure: Failure | null = $state.raw(null);
  #busy = $state(false);
  /** What recordings are about, for lists. */
  readonly summaries = new Summaries(placesBeside(document.baseURI).summaries);
  path = $state("");
  /** Empty: found by trying. */
  baud = $state("");
  host = $state("");
  vehicle = $state("");
  fault = $state("");
  severity = $state(1);
  /** A case of a file that is to be practised on. */
  given: PracticeCaseFile | null = $state.raw(null);
  /** On SAE J1979-2: also the requests that nobody could confirm. */
  unconfirmed = $state(false);

  constructor(page: HookupPage) {
    this.#page = page;
    this.carry = new Carry(placesBeside(document.baseURI).carry, pageClock, navigator as Reach);
    this.host = page.settings.current.tcp;
  }

  /** The bench vehicle where no port is found that an adapter could be on. */
  get where(): Where {
    if (this.#page.server.role === "mark") return "file";
    return this.#where ?? (likelyPort(this.#ports ?? []) === undefined ? "bench" : "serial");
  }

  set where(where: Where) {
    this.#where = where;
    this.#failure = null;
  }

  get ports(): readonly PortInfo[] | null {
    return this.#ports;
  }

  /** Nothing is seen that an adapter could be on: a newcomer, or no adapter at hand. */
  get noPort(): boolean {
    return this.#ports !== null && likelyPort(this.#ports) === undefined;
  }

  get portsFailure(): Failure | null {
    return this.#portsFailure;
  }

  get recordings(): readonly RecordingEntry[] | null {
    return this.#recordings;
  }

  isBundled(file: string): boolean {
    return this.#recordings?.find((entry) => entry.file === file)?.bundled ?? false;
  }

  get recordingsFailure(): Failure | null {
    return this.#recordingsFailure;
  }

  get vehicles(): readonly BenchVehicleInfo[] {
    return this.#page.server.hello?.bench ?? [];
  }

  /** A case of a file says itself which vehicle it is on. */
  get benchVehicle(): BenchVehicleInfo | undefined {
    const { bench } = this.given?.hidden ?? {};
    if (bench !== undefined) return this.vehicles.find((v) => v.id === bench.vehicle);
    return this.vehicles.find((v) => v.id === this.vehicle) ?? this.vehicles[0];
  }

  /** The fault of the bench vehicle is hidden. */
  get practising(): boolean {
    return this.given !== null || this.fault === "surprise" || this.fault.startsWith("case-");
  }

  get busy(): boolean {
    return this.#busy;
  }

  /** Why the last try failed. */
  get failure(): Failure | null {
    return this.#failure ?? this.#page.server.status.failure;
  }

  /** Chooses where a job was heard from last, unless the person has chosen already. No address: nothing is chosen. */
  suggest(text: string): void {
    if (this.#where !== null) return;
    let address: Address;
    try {
      address = parseAddress(text);
    } catch (error) {
      if (isCranksideError(error, "wrong-address")) return;
      throw error;
    }
    switch (address.kind) {
      case "serial":
        this.path = address.path;
        this.baud = address.baud === undefined ? "" : String(address.baud);
        break;
      case "tcp":
        this.host = text.slice("tcp:".length);
        break;
      case "browser":
        break;
      case "bench": {
        const [fault] = address.faults;
        this.vehicle = address.vehicle;
        this.fault = fault?.name ?? "";
        this.severity = fault?.severity ?? 1;
        break;
      }
    }
    this.#where = address.kind;
  }

  async lookForPorts(): Promise<void> {
    const answer = await this.#page.server.ask({ type: "ports" });
    this.#portsFailure = answer.ok ? null : answer.failure;
    void this.carry.resume(this.#page.server.status.address);
    if (!answer.ok) return;
    this.#ports = answer.ports;
    if (this.path === "") this.path = (likelyPort(answer.ports) ?? answer.ports[0])?.path ?? "";
  }

  async lookForRecordings(): Promise<void> {
    try {
      const response = await fetch(placesBeside(document.baseURI).recordingList, { cache: "no-store" });
      const text = await response.text();
      this.#recordings = readMessage(recordingListSchema, text);
      this.#recordingsFailure = null;
      const live = this.#page.live?.recording.file;
      this.summaries.want(
        this.#recordings.filter((r) => r.problem === null && r.file !== live).map((r) => r.file),
      );
    } catch (error) {
      this.#recordingsFailure = failureOf(error);
    }
  }

  async connect(): Promise<void> {
    this.#failure = null;
    try {
      const address = this.#address();
      this.#busy = true;
      const given = this.where === "bench" ? this.given : null;
      practice.current = given === null ? null : { from: given, file: null };
      const answer = await this.#page.connect(address, this.unconfirmed ? { unconfirmed: true } : {});
      if (answer.ok) this.#page.nextFacts.taken();
      else this.#failure = answer.failure;
    } catch (error) {
      this.#failure = failureOf(error);
    } finally {
      this.#busy = false;
    }
  }

  /** Throws `wrong-address` for what cannot be one. */
  #address(): string {
    switch (this.where) {
      case "serial":
        return addressText(
          parseAddress(`serial:${this.path.trim()}${this.baud === "" ? "" : `@${this.baud}`}`),
        );
      case "tcp": {
        const text = addressText(parseAddress(`tcp:${this.host.trim()}`));
        this.#page.settings.change({ tcp: this.host.trim() });
        return text;
      }
      case "browser": {
        const { way } = this.carry;
        if (way === null) {
          throw new CranksideError("wrong-address", "no adapter is chosen", {
            advice: "Choose one above; the browser asks which.",
          });
        }
        return addressText({ kind: "browser", way });
      }
      case "bench":
      case "file": {
        const bench = this.given?.hidden.bench;
        if (bench !== undefined) {
          const words = bench.faults.map(({ name, severity }) => `${name}=${severity}`);
          return `bench:${bench.vehicle},hidden,${words.join(",")}`;
        }
        const fault = this.fault === "" ? "" : `,${this.fault}=${Math.round(this.severity * 100) / 100}`;
        const text = `bench:${this.benchVehicle?.id ?? ""}${fault}`;
        parseAddress(text);
        return text;
      }
    }
  }
}
