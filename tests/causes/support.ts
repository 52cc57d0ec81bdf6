import type { Crank, Findings, Sign } from "../../src/interpret/index.ts";
import type { HeardRecording } from "../../src/interpret/causes/evidence.ts";
import type { ActEntry, LogEntry, ResultEntry } from "../../src/interpret/causes/results.ts";

let serial = 0;

/** A time so many minutes into the visit. */
export const at = (minute: number): string => new Date(Date.UTC(2026, 4, 2, 9, minute)).toISOString();

export function result(
  check: string,
  outcome: string,
  minute: number,
  more: Partial<ResultEntry> = {},
): LogEntry {
  serial += 1;
  return { k: "result", id: `r${serial}`, at: at(minute), check, outcome, ...more };
}

export function act(
  cause: string,
  did: ActEntry["did"],
  effect: ActEntry["effect"],
  minute: number,
): ActEntry {
  serial += 1;
  return { k: "act", id: `a${serial}`, at: at(minute), cause, did, effect };
}

export function sign(id: string, verdict: Sign["verdict"], more: Partial<Sign> = {}): Sign {
  return {
    id,
    family: id.slice(0, id.indexOf(".")) as Sign["family"],
    key: id,
    verdict,
    title: id,
    windows: [{ from: 1000, to: 5000 }],
    channels: [],
    measured: null,
    range: null,
    meaning: `${id} is ${verdict}.`,
    looksLike: [],
    checks: [],
    ...more,
  };
}

export function findings(parts: Partial<Findings> = {}): Findings {
  return {
    version: 1,
    until: 60_000,
    regimes: [],
    cranks: [],
    signs: [],
    comparisons: [],
    balance: null,
    fits: [],
    freezeFrame: null,
    codes: [],
    replaced: [],
    ...parts,
  };
}

export const heard = (parts: Partial<Findings>, minute = 0): HeardRecording => ({
  recording: "one.ndjson",
  started: at(minute),
  findings: findings(parts),
});

const counted = (value: number): { value: number; samples: number } => ({ value, samples: 10 });

/** An attempt that started: rpm, °C, seconds to firing. */
export function crank(from: number, speed: number, coolant: number, fire: number): Crank {
  return {
    number: 1,
    from,
    to: from + 3000,
    unseen: false,
    outcome: "started",
    restVolts: counted(12.5),
    lowestVolts: counted(9.9),
    meanVolts: counted(10.5),
    voltsFrom: "socket-voltage",
    speed: counted(speed),
    speedSpread: counted(5),
    dropOuts: counted(0),
    speedPerVolt: counted(speed / 10.5),
    firstSpeedS: counted(0.2),
    pullDown: counted(12),
    throttle: counted(14),
    loop: counted(1),
    coolant: counted(coolant),
    intakeAir: counted(coolant),
    fireS: counted(fire),
    fireWithinS: 0.1,
    lengthS: 3,
    ranS: 60,
  };
}
