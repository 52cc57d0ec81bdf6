/** Every standard question to every module, once, each chosen from what was announced before it. */
import { supportedPids } from "../../shared/decode.ts";
import { protocols } from "../../shared/protocols.ts";
import type { BrokenAnswer } from "../../shared/longAnswers.ts";
import { foldSurvey, type Survey, type SurveyAnswer } from "../../shared/survey.ts";
import type { Plan } from "../dialogue/index.ts";
import { joinMultipart, readReply, type MessagePiece } from "../framing/index.ts";
import { identifiedSurvey } from "./identifiedSurvey.ts";
import type { Vehicle } from "./poller.ts";

/** Service 09 types that are asked when announced: VIN, calibrations, verification numbers, counters, name. */
const identityTypes = [0x02, 0x04, 0x06, 0x08, 0x0a, 0x0b] as const;

/** Long answers on a slow bus come in many messages, each after its own pause. */
const surveyWaits = { silenceMs: 6000 };

/** A gearbox that says nothing of service 09 must not keep the engine module's VIN from being asked. */
const alwaysAsked: ReadonlySet<number> = new Set([0x02]);

class Collected {
  readonly answers: SurveyAnswer[] = [];
  readonly broken: BrokenAnswer[] = [];
  readonly #vehicle: Vehicle;

  constructor(vehicle: Vehicle) {
    this.#vehicle = vehicle;
  }

  get can(): boolean {
    return protocols[this.#vehicle.protocol].family === "can";
  }

  /** Asks and keeps; returns the answers that came to this question. */
  *ask(request: string, doing: string): Plan<SurveyAnswer[]> {
    const reply = yield { ask: request, waits: surveyWaits, doing };
    const pieces = joinMultipart(readReply(reply.answer, this.#vehicle.protocol));
    for (const piece of pieces)
      if (piece.kind === "discarded" && piece.unfinished === true)
        this.broken.push({ module: piece.module ?? "", ask: request, why: piece.reason });
    const fresh = pieces
      .filter((piece): piece is MessagePiece => piece.kind === "message")
      .map(({ module, data }) => ({ module, data }));
    this.answers.push(...fresh);
    const service = parseInt(request.slice(0, 2), 16) + 0x40;
    return fresh.filter(({ data }) => data[0] === service);
  }

  /**
   * The numbers that any module announces in the maps of a service; `after` is what follows the number in the
   * request, and `at` where the map begins in the reply.
   */
  *maps(service: string, doing: string, { after = "", at = 2 } = {}): Plan<Set<number>> {
    const numbers = new Set<number>();
    for (let base = 0x00; base <= 0xe0; base += 0x20) {
      if (base > 0 && !numbers.has(base)) break;
      const found = yield* this.ask(`${service}${hex(base)}${after}`, doing);
      for (const { data } of found) {
        const from = service === "09" && data.length === 7 ? at + 1 : at;
        for (const n of supportedPids(base, data.subarray(from, from + 4))) numbers.add(n);
      }
    }
    return numbers;
  }
}

export function* surveyPlan(vehicle: Vehicle): Plan<Survey> {
  if (vehicle.byIdentifier !== undefined) return yield* identifiedSurvey(vehicle);
  const all = new Collected(vehicle);
  const measured = yield { ask: "ATRV", doing: "reading the supply voltage" };
  const supported = new Set([...vehicle.modules.values()].flatMap((pids) => [...pids]));
  yield* all.ask("0101", "asking for readiness");
  if (supported.has(0x41)) yield* all.ask("0141", "asking for readiness");
  yield* all.ask("03", "asking for stored codes");
  yield* all.ask("07", "asking for pending codes");
  yield* all.ask("0A", "asking for permanent codes");
  yield* freezeFrame(all);
  yield* identities(all);
  if (all.can) yield* monitorResults(all);
  else {
    yield* oxygenResults(all);
    for (const test of tests(yield* all.maps("06", "asking for test results", { at: 3 })))
      yield* all.ask(`06${hex(test)}`, "asking for test results");
  }
  return foldSurvey(all.answers, all.can, measured.volts ?? null, all.broken);
}

function* freezeFrame(all: Collected): Plan<void> {
  const doing = "asking for the freeze frame";
  const cause = yield* all.ask("020200", doing);
  const stored = cause.some(({ data }) => data.length >= 5 && ((data[3] ?? 0) | (data[4] ?? 0)) !== 0);
  if (!stored) return;
  const pids = yield* all.maps("02", doing, { after: "00", at: 3 });
  for (const pid of pids) {
    if (pid > 0x02 && pid % 0x20 !== 0) yield* all.ask(`02${hex(pid)}00`, doing);
  }
}

function* identities(all: Collected): Plan<void> {
  const doing = "asking for identity and counters";
  const announced = yield* all.maps("09", doing);
  for (const type of identityTypes) {
    if (announced.has(type) || alwaysAsked.has(type)) yield* all.ask(`09${hex(type)}`, doing);
  }
}

function* monitorResults(all: Collected): Plan<void> {
  const doing = "asking for test results";
  for (const monitor of tests(yield* all.maps("06", doing))) yield* all.ask(`06${hex(monitor)}`, doing);
}

/** Service 05 takes a test and one sensor: bit n of parameter 13 stands for sensor n. */
function* oxygenResults(all: Collected): Plan<void> {
  const doing = "asking for oxygen sensor results";
  const fitted = yield* all.ask("0113", doing);
  const bits = fitted.reduce((sum, { data }) => sum | (data[2] ?? 0), 0);
  for (let bit = 0; bit < 8; bit++) {
    if ((bits & (1 << bit)) === 0) continue;
    const sensor = hex(1 << bit);
    for (const test of tests(yield* all.maps("05", doing, { after: sensor, at: 3 })))
      yield* all.ask(`05${hex(test)}${sensor}`, doing);
  }
}

function tests(numbers: ReadonlySet<number>): number[] {
  return [...numbers].filter((n) => n % 0x20 !== 0);
}

function hex(value: number): string {
  return value.toString(16).toUpperCase().padStart(2, "0");
}
