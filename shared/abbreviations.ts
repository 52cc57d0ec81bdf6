/**
 * What the trade calls a channel: abbreviations of SAE J1930 (terms) and J1979 (fuel trim and sensor positions), from
 * memory. `$1` and `$2` are the numbers of bank and sensor in the channel's name, or the letter of a second sensor.
 */
const rows: readonly (readonly [channel: RegExp, abbreviation: string])[] = [
  [/^engine-speed$/, "RPM"],
  [/^vehicle-speed$/, "VSS"],
  [/^coolant(?:-(\d))?$/, "ECT $1"],
  [/^intake-air(?:-b(\d)s(\d))?$/, "IAT $1$2"],
  [/^ambient$/, "AAT"],
  [/^oil$/, "EOT"],
  [/^manifold$/, "MAP"],
  [/^barometric$/, "BARO"],
  [/^air-flow(?:-([a-z]))?$/, "MAF $1"],
  [/^throttle(?:-([b-g]))?$/, "TP $1"],
  [/^pedal-([d-f])$/, "APP $1"],
  [/^throttle-commanded$/, "TAC"],
  [/^load$/, "CLV"],
  [/^absolute-load$/, "LOAD ABS"],
  [/^advance$/, "SPARKADV"],
  [/^trim-short-b(\d)$/, "STFT B$1"],
  [/^trim-long-b(\d)$/, "LTFT B$1"],
  [/^oxygen-b(\d)s(\d)$/, "O2 B$1S$2"],
  [/^oxygen-trim-b(\d)s(\d)$/, "SHRTFT B$1S$2"],
  [/^lambda(?:-current)?-b(\d)s(\d)$/, "EQ RAT B$1S$2"],
  [/^lambda-commanded$/, "EQ RAT"],
  [/^catalyst-b(\d)s(\d)$/, "CATEMP B$1S$2"],
  [/^fuel-system-(\d)$/, "FUELSYS $1"],
  [/^fuel-pressure$/, "FP"],
  [/^rail-(?:relative|gauge|absolute)$/, "FRP"],
  [/^egr$/, "EGR"],
  [/^egr-error$/, "EGR ERR"],
  [/^purge$/, "EVAP PCT"],
  [/^fuel-level$/, "FLI"],
  [/^secondary-air$/, "AIR STAT"],
  [/^freeze-code$/, "DTC FRZF"],
  [/^monitors$/, "MIL, DTC count, readiness"],
  [/^monitors-cycle$/, "readiness, this drive cycle"],
  [/^distance-mil$/, "MIL DIST"],
  [/^minutes-mil$/, "MIL TIME"],
  [/^distance-clear$/, "CLR DIST"],
  [/^minutes-clear$/, "CLR TIME"],
  [/^run-time$/, "RUNTM"],
  [/^module-voltage$/, "VPWR"],
  [/^socket-voltage$/, "B+"],
  [/^fuel-rate$/, "FUEL RATE"],
];

/** Null for a channel that the standard has no short name for. */
export function abbreviationOf(channel: string): string | null {
  for (const [pattern, words] of rows) {
    const found = pattern.exec(channel);
    if (found === null) continue;
    return words
      .replace("$1", (found[1] ?? "").toUpperCase())
      .replace("$2", (found[2] ?? "").toUpperCase())
      .trim();
  }
  return null;
}

/** Other words by which it is looked for: what many say, and the standard's older or longer term. */
const alsoSaid: Readonly<Record<string, string>> = {
  throttle: "TPS throttle position sensor",
  "air-flow": "mass air flow",
  coolant: "CTS coolant temperature",
  load: "LOAD",
  "vehicle-speed": "speedometer",
  "engine-speed": "tach tachometer",
  monitors: "DTC MIL readiness check engine light",
  "socket-voltage": "battery voltage",
};

/** All words of a channel that a search goes through, beside its own name. */
export function searchWords(channel: string): string {
  return `${abbreviationOf(channel) ?? ""} ${alsoSaid[channel] ?? ""} ${channel}`.trim();
}
