/** The check digit of a vehicle identification number: 49 CFR 565, tables III and IV. */

/** Each letter is worth one more than the one before it. */
function run(letters: string, from: number): [string, number][] {
  return Array.from(letters, (letter, i): [string, number] => [letter, from + i]);
}

const values: ReadonlyMap<string, number> = new Map([
  ...run("0123456789", 0),
  ...run("ABCDEFGH", 1),
  ...run("JKLMN", 1),
  ...run("P", 7),
  ...run("R", 9),
  ...run("STUVWXYZ", 2),
]);

const weights = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2] as const;

/** What the ninth place should hold, or null for a text that cannot be such a number. */
export function checkDigit(vin: string): string | null {
  if (vin.length !== weights.length) return null;
  let sum = 0;
  for (const [place, weight] of weights.entries()) {
    if (weight === 0) continue;
    const value = values.get(vin[place] ?? "");
    if (value === undefined) return null;
    sum += value * weight;
  }
  const rest = sum % 11;
  return rest === 10 ? "X" : String(rest);
}

/** Makers outside North America need not use the check digit: "differs" is then no fault. */
export function vinCheck(vin: string): "fits" | "differs" | "malformed" {
  const digit = checkDigit(vin);
  if (digit === null) return "malformed";
  return vin[8] === digit ? "fits" : "differs";
}

export const vinCheckWords = {
  fits: "check digit fits",
  differs: "check digit differs, as it may outside North America",
  malformed: "not 17 characters of a VIN",
} as const satisfies Readonly<Record<ReturnType<typeof vinCheck>, string>>;

/** Areas by the first place (ISO 3780, from memory); 0 is nobody's. Which maker the first three mean is in no table here. */
const areas: readonly (readonly [first: RegExp, area: string])[] = [
  [/^[A-H]/, "Africa"],
  [/^[J-R]/, "Asia"],
  [/^[S-Z]/, "Europe"],
  [/^[1-5]/, "North America"],
  [/^[67]/, "Oceania"],
  [/^[89]/, "South America"],
];

/** Codes of the model year from 1980 on, thirty in a round (49 CFR 565, table VII). */
const yearCodes = "ABCDEFGHJKLMNPRSTVWXY123456789";

/**
 * What the places that a standard gives a meaning say, in words; null for what is no such number. The area of the maker
 * (ISO 3780), which need not be where it was built; and the model year where North America's rule holds: its area and a
 * check digit that fits. There a letter in the seventh place means the second round (49 CFR 565.15). All else in it is the
 * maker's own (ISO 3779).
 */
export function vinSays(vin: string): string | null {
  const text = vin.toUpperCase();
  const fits = vinCheck(text);
  const area = areas.find(([first]) => first.test(text))?.[1];
  if (fits === "malformed" || area === undefined) return null;
  const code = yearCodes.indexOf(text[9] ?? "");
  if (area !== "North America" || fits !== "fits" || code < 0) return `maker's area ${area}`;
  const second = /[A-Z]/.test(text[6] ?? "");
  return `maker's area ${area}, model year ${1980 + code + (second ? yearCodes.length : 0)}`;
}
