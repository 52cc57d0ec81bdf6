/** Every question of SAE J1979-2 to every module, once. `recordings/J1979-2.md` says which were published. */
import { identifiedCodes } from "../../shared/identified.ts";
import { foldSurvey, type Survey, type SurveyAnswer } from "../../shared/survey.ts";
import type { Plan } from "../dialogue/index.ts";
import { readReply } from "../framing/index.ts";
import type { Vehicle } from "./poller.ts";

const surveyWaits = { silenceMs: 6000 };
/** Groups of readiness that are tried: which there are was not found. */
const readinessGroups = 16;
/** Codes whose kept values are asked for. */
const mostKept = 12;

export function* identifiedSurvey(vehicle: Vehicle): Plan<Survey> {
  const unconfirmed = vehicle.byIdentifier?.unconfirmed === true;
  const answers: SurveyAnswer[] = [];
  function* ask(request: string, doing: string): Plan<SurveyAnswer[]> {
    const reply = yield { ask: request, waits: surveyWaits, doing };
    const fresh = readReply(reply.answer, vehicle.protocol).flatMap((piece) =>
      piece.kind === "message" ? [{ module: piece.module, data: piece.data }] : [],
    );
    answers.push(...fresh);
    return fresh;
  }
  const measured = yield { ask: "ATRV", doing: "reading the supply voltage" };
  yield* ask("22F401", "asking for readiness");
  const told = yield* ask("19020C", "asking for codes");
  if (unconfirmed) {
    told.push(...(yield* ask("194233081E", "asking for confirmed codes")));
    told.push(...(yield* ask("194233041E", "asking for pending codes")));
    for (let group = 1; group <= readinessGroups; group++) {
      const came = yield* ask(`195633${hex(group)}`, "asking for readiness");
      if (!came.some(({ data }) => data[0] === 0x59) && group > 1) break;
    }
  }
  yield* ask("195533", "asking for permanent codes");
  for (const code of keptWith(told)) {
    yield* ask(`1904${code}FF`, "asking for the freeze frame");
    yield* ask(`1906${code}FF`, "asking what is kept with a code");
  }
  yield* ask("22F802", "asking for identity");
  yield* ask("22F80A", "asking for identity");
  return foldSurvey(answers, true, measured.volts ?? null);
}

/** The codes that were told, as three bytes. */
function keptWith(answers: readonly SurveyAnswer[]): string[] {
  const codes = answers.flatMap(({ data }) => {
    const step = data[1] === 0x42 ? 5 : 4;
    const from = data[1] === 0x42 ? 7 : 3;
    const count = identifiedCodes(data)?.details.length ?? 0;
    return Array.from({ length: count }, (_, i) => [...data.subarray(from + i * step, from + i * step + 3)]);
  });
  return [...new Set(codes.map((bytes) => bytes.map(hex).join("")))].slice(0, mostKept);
}

function hex(value: number): string {
  return value.toString(16).toUpperCase().padStart(2, "0");
}
