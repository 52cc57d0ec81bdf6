/**
 * What trouble codes mean. Meanings of SAE J2012 / ISO 15031-6, paraphrased. A code that stands in no row gets what its
 * letters and digits tell by rule, and no guess.
 */

/** memory: from memory; maker: also seen in a maker's service information, which the row names. */
export interface CodeRow {
  readonly code: string;
  readonly meaning: string;
  readonly source: string;
}

const memory = "SAE J2012, from memory";

function row(code: string, meaning: string, source: string = memory): CodeRow {
  return { code, meaning, source };
}

/** Numbered rows, such as one for each cylinder. */
function rows(first: number, count: number, meaning: (n: number) => string, source?: string): CodeRow[] {
  return Array.from({ length: count }, (_, i) => {
    const digits = (first + i).toString().padStart(4, "0");
    return row(`P${digits}`, meaning(i + 1), source);
  });
}

const pressureSource = `${memory}; seen in a maker's service information (Opel 2009)`;
const mixtureSource = `${memory}; seen in a maker's service information (Lexus 2017)`;
const misfireSource = `${memory}; seen in a maker's service information (Toyota 2004)`;

export const codeRows: readonly CodeRow[] = [
  row("P0010", "intake camshaft actuator circuit, bank 1"),
  row("P0011", "intake camshaft too far advanced, bank 1"),
  row("P0016", "crankshaft and camshaft do not fit each other, bank 1 sensor A"),
  row("P0018", "crankshaft and camshaft do not fit each other, bank 2 sensor A"),
  row("P0020", "intake camshaft actuator circuit, bank 2"),
  row("P0021", "intake camshaft too far advanced, bank 2"),
  row("P0068", "manifold pressure or air flow does not fit the throttle"),
  row("P0087", "fuel rail pressure too low"),
  row("P0088", "fuel rail pressure too high"),
  row("P0089", "fuel pressure regulator does not do its work"),
  row("P0101", "air-flow meter implausible"),
  row("P0102", "air-flow meter signal low"),
  row("P0103", "air-flow meter signal high"),
  row("P0106", "manifold pressure sensor implausible", pressureSource),
  row("P0107", "manifold pressure sensor signal low", pressureSource),
  row("P0108", "manifold pressure sensor signal high", pressureSource),
  row("P0111", "intake air temperature sensor implausible"),
  row("P0112", "intake air temperature sensor signal low (reads hot)"),
  row("P0113", "intake air temperature sensor signal high (reads cold)"),
  row("P0116", "coolant temperature sensor implausible"),
  row("P0117", "coolant temperature sensor signal low (reads hot)"),
  row("P0118", "coolant temperature sensor signal high (reads cold)"),
  row("P0121", "throttle position sensor A implausible"),
  row("P0122", "throttle position sensor A signal low"),
  row("P0123", "throttle position sensor A signal high"),
  row("P0125", "too cold for closed loop for too long"),
  row("P0128", "coolant stays below the thermostat's temperature"),
  row("P0130", "oxygen sensor circuit, bank 1 sensor 1"),
  row("P0131", "oxygen sensor signal low, bank 1 sensor 1"),
  row("P0132", "oxygen sensor signal high, bank 1 sensor 1"),
  row("P0133", "oxygen sensor slow, bank 1 sensor 1"),
  row("P0134", "oxygen sensor without activity, bank 1 sensor 1"),
  row("P0135", "oxygen sensor heater circuit, bank 1 sensor 1"),
  row("P0141", "oxygen sensor heater circuit, bank 1 sensor 2"),
  row("P0150", "oxygen sensor circuit, bank 2 sensor 1"),
  row("P0151", "oxygen sensor signal low, bank 2 sensor 1"),
  row("P0152", "oxygen sensor signal high, bank 2 sensor 1"),
  row("P0153", "oxygen sensor slow, bank 2 sensor 1"),
  row("P0154", "oxygen sensor without activity, bank 2 sensor 1"),
  row("P0155", "oxygen sensor heater circuit, bank 2 sensor 1"),
  row("P0161", "oxygen sensor heater circuit, bank 2 sensor 2"),
  row("P0171", "mixture too lean, bank 1", mixtureSource),
  row("P0172", "mixture too rich, bank 1", mixtureSource),
  row("P0174", "mixture too lean, bank 2", mixtureSource),
  row("P0175", "mixture too rich, bank 2", mixtureSource),
  row("P0190", "fuel rail pressure sensor circuit"),
  row("P0191", "fuel rail pressure sensor implausible"),
  row("P0192", "fuel rail pressure sensor signal low"),
  row("P0193", "fuel rail pressure sensor signal high"),
  row("P0200", "injector circuit"),
  ...rows(201, 8, (n) => `injector circuit, cylinder ${n}`),
  row("P0230", "fuel pump primary circuit"),
  row("P0231", "fuel pump secondary circuit low"),
  row("P0261", "injector circuit low, cylinder 1"),
  row("P0262", "injector circuit high, cylinder 1"),
  row("P0300", "misfire, random or of several cylinders", misfireSource),
  ...rows(301, 4, (n) => `misfire, cylinder ${n}`, misfireSource),
  ...rows(305, 8, (n) => `misfire, cylinder ${n + 4}`),
  row("P0314", "misfire of a single cylinder that is not named"),
  row("P0315", "crankshaft variation not learned"),
  row("P0316", "misfire within the first 1000 turns after the start"),
  row("P0325", "knock sensor 1 circuit"),
  row("P0335", "crankshaft position sensor A circuit"),
  row("P0336", "crankshaft position sensor A implausible"),
  row("P0337", "crankshaft position sensor A signal low"),
  row("P0338", "crankshaft position sensor A signal high"),
  row("P0340", "camshaft position sensor A circuit, bank 1"),
  row("P0341", "camshaft position sensor A implausible, bank 1"),
  row("P0342", "camshaft position sensor A signal low, bank 1"),
  row("P0343", "camshaft position sensor A signal high, bank 1"),
  row("P0350", "ignition coil primary or secondary circuit"),
  ...rows(351, 8, (n) => `ignition coil ${String.fromCharCode(64 + n)} primary or secondary circuit`),
  row("P0363", "misfire, fuelling cut off"),
  row("P0385", "crankshaft position sensor B circuit"),
  row("P0401", "exhaust gas recirculation flow too low"),
  row("P0411", "secondary air flow wrong"),
  row("P0420", "catalyst efficiency too low, bank 1"),
  row("P0430", "catalyst efficiency too low, bank 2"),
  row("P0441", "tank vent (purge) flow wrong"),
  row("P0455", "large leak in the tank vent system"),
  row("P0496", "tank vent (purge) flow when none was asked for"),
  row("P0505", "idle control"),
  row("P0506", "idle lower than wanted"),
  row("P0507", "idle higher than wanted"),
  row("P0512", "starter request circuit"),
  row("P0513", "immobiliser key wrong"),
  row("P0562", "system voltage low"),
  row("P0563", "system voltage high"),
  row("P0601", "control module memory check sum"),
  row("P0603", "control module keep-alive memory"),
  row("P0606", "control module processor"),
  row("P0615", "starter relay circuit"),
  row("P0616", "starter relay circuit low"),
  row("P0627", "fuel pump control circuit open"),
  row("P0633", "immobiliser key not programmed"),
  row("P0685", "control module's power relay circuit open"),
  row("P0689", "control module's power relay sense circuit low"),
  row("P0690", "control module's power relay sense circuit high"),
];

const byCode: ReadonlyMap<string, CodeRow> = new Map(codeRows.map((r) => [r.code, r]));

const systems: Readonly<Record<string, string>> = { P: "powertrain", C: "chassis", B: "body", U: "network" };

/**
 * The third digit of generic powertrain codes. Groups of SAE J2012, from memory; beyond these (P00A and later,
 * hybrid codes) it tells less and is left out.
 */
const groups: Readonly<Record<string, string>> = {
  "0": "fuel and air metering, auxiliary emission controls",
  "1": "fuel and air metering",
  "2": "fuel and air metering, injector circuits",
  "3": "ignition or misfire",
  "4": "auxiliary emission controls",
  "5": "vehicle speed, idle control and auxiliary inputs",
  "6": "computer and auxiliary outputs",
  "7": "transmission",
  "8": "transmission",
  "9": "transmission",
};

export interface CodeMeaning {
  readonly code: string;
  /** What the code says, or as much of it as its letters and digits tell. */
  readonly meaning: string;
  /** Who gave the code its meaning: the standard, or the maker, whose literature alone tells it. */
  readonly by: "standard" | "maker" | "unknown";
  readonly system: string;
  /** The meaning is the code's own, not only its group's. */
  readonly known: boolean;
  readonly source: string;
}

/** Whose code it is, by its first digits (SAE J2012, from memory): P3000 to P33FF are the maker's, P3400 on are not. */
function ownerOf(code: string): CodeMeaning["by"] {
  const digit = code[1];
  if (digit === "0") return "standard";
  if (code[0] === "P") {
    if (digit === "2") return "standard";
    if (digit === "3") return code >= "P3400" ? "standard" : "maker";
    return "maker";
  }
  if (digit === "3") return code[0] === "U" ? "standard" : "unknown";
  return "maker";
}

/** Never fails: what does not look like a code is said to be none. */
export function codeMeaning(code: string): CodeMeaning {
  const system = systems[code[0] ?? ""];
  if (system === undefined || !/^[PCBU][0-3][0-9A-F]{3}$/.test(code))
    return {
      code,
      meaning: "not a trouble code",
      by: "unknown",
      system: "unknown",
      known: false,
      source: "",
    };
  const found = byCode.get(code);
  const by = ownerOf(code);
  if (found !== undefined)
    return { code, meaning: found.meaning, by, system, known: true, source: found.source };
  const group = code.startsWith("P0") || code.startsWith("P2") ? groups[code[2] ?? ""] : undefined;
  return { code, meaning: byRule(system, by, group), by, system, known: false, source: memory };
}

function byRule(system: string, by: CodeMeaning["by"], group: string | undefined): string {
  if (by === "maker") return `${system} code of the maker: its literature tells what it means`;
  if (by === "unknown") return `${system} code of a range that the standard keeps in reserve`;
  return group === undefined
    ? `${system} code of the standard, not in our table`
    : `${system} code of the standard, not in our table: ${group}`;
}
