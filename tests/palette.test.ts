/** The colours of page and print: where the traces' are from, how far they stand out, and that who sees fewer colours tells them apart. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { paper } from "../src/sheet/chart/paper.ts";

/**
 * M. Okabe, K. Ito, "Color Universal Design: how to make figures and presentations that are friendly to colorblind
 * people", J*FLY data depository (2002, revised 2008), the palette of eight; values from memory.
 */
const published = {
  black: "#000000",
  orange: "#e69f00",
  skyBlue: "#56b4e9",
  bluishGreen: "#009e73",
  yellow: "#f0e442",
  blue: "#0072b2",
  vermillion: "#d55e00",
  reddishPurple: "#cc79a7",
} as const;

/** The papers of the page, and what is printed. */
const tones = ["light", "dark", "sunlight", "print"] as const;
type Tone = (typeof tones)[number];
type Rgb = readonly [number, number, number];

const text = readFileSync(join(import.meta.dirname, "../src/page/styles/tokens.css"), "utf8");

/** What is set for one paper. */
function tokens(tone: Tone): (name: string) => string {
  const block = new RegExp(String.raw`data-tone="${tone}"\]\s*\{([^}]*)\}`).exec(text)?.[1] ?? "";
  return (name) => {
    const found = new RegExp(String.raw`--${name}:\s*(#[0-9a-f]{6});`).exec(block)?.[1];
    if (found === undefined) throw new Error(`expected --${name} among the colours of ${tone} paper`);
    return found;
  };
}

function rgb(hex: string): Rgb {
  const part = (at: number): number => Number.parseInt(hex.slice(at, at + 2), 16);
  return [part(1), part(3), part(5)];
}

/** Of sRGB in 0 to 255: light, 0 to 1 (IEC 61966-2-1). */
const linear = (v: number): number =>
  v <= 0.04045 * 255 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4;
const lit = (hex: string): Rgb => {
  const [r, g, b] = rgb(hex);
  return [linear(r), linear(g), linear(b)];
};

/** Contrast of WCAG 2.2, "relative luminance" and "contrast ratio". */
function contrast(a: string, b: string): number {
  const luminance = (hex: string): number => {
    const [r, g, b2] = lit(hex);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b2;
  };
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return ((high ?? 0) + 0.05) / ((low ?? 0) + 0.05);
}

const hue = (hex: string): number => {
  const [r, g, b] = rgb(hex);
  return (Math.atan2(Math.sqrt(3) * (g - b), 2 * r - g - b) * 180) / Math.PI;
};

type Eyes = "all" | "protan" | "deutan";

/**
 * As seen without the long or the middle wavelength's cones: F. Viénot, H. Brettel, J. D. Mollon, "Digital video
 * colourmaps for checking the legibility of displays by dichromats", Color Research & Application 24 (1999); from memory.
 */
function asSeenBy(eyes: Eyes, [r, g, b]: Rgb): Rgb {
  const L = 17.8824 * r + 43.5161 * g + 4.11935 * b;
  const M = 3.45565 * r + 27.1554 * g + 3.86714 * b;
  const S = 0.0299566 * r + 0.184309 * g + 1.46709 * b;
  const l = eyes === "protan" ? 2.02344 * M - 2.52581 * S : L;
  const m = eyes === "deutan" ? 0.494207 * L + 1.24827 * S : M;
  return [
    0.0809444479 * l - 0.130504409 * m + 0.116721066 * S,
    -0.0102485335 * l + 0.0540193266 * m - 0.113614708 * S,
    -0.000365296938 * l - 0.00412161469 * m + 0.693511405 * S,
  ];
}

/** CIELAB under D65 (CIE 15), of light in 0 to 1. */
function lab([r, g, b]: Rgb): Rgb {
  const f = (t: number): number => (t > (6 / 29) ** 3 ? Math.cbrt(t) : t / (3 * (6 / 29) ** 2) + 4 / 29);
  const x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
  const y = f(0.2126 * r + 0.7152 * g + 0.0722 * b);
  const z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

/** How far two colours are apart for these eyes: 2 to 3 is just seen side by side, 100 is from black to white. */
function apart(a: string, b: string, eyes: Eyes): number {
  const [p, q] = [lab(asSeenBy(eyes, lit(a))), lab(asSeenBy(eyes, lit(b)))];
  return Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
}

/** The published set itself comes down to 17 on dark paper, orange beside yellow to who sees no green. */
const leastApart = 15;

const traces = (tone: Tone): readonly string[] =>
  tone === "print" ? paper.traces : [1, 2, 3, 4, 5].map((n) => tokens(tone)(`trace-${n}`));
const { black, orange, skyBlue, bluishGreen, yellow, blue, vermillion, reddishPurple } = published;

test("the traces are of the published palette, and its source stands beside the tokens", () => {
  expect(text).toMatch(/M\. Okabe and K\. Ito/);
  expect(text).toMatch(/from memory/);
  expect(traces("dark")).toEqual([skyBlue, orange, bluishGreen, reddishPurple, yellow]);
  for (const tone of ["light", "print"] as const) {
    const [first, second, , , fifth] = traces(tone);
    expect([first, second, fifth]).toEqual([blue, vermillion, black]);
  }
});

test.each([
  ["light", 2, bluishGreen],
  ["light", 3, reddishPurple],
  ["sunlight", 0, blue],
  ["sunlight", 1, vermillion],
  ["sunlight", 2, bluishGreen],
  ["sunlight", 3, reddishPurple],
  ["print", 2, bluishGreen],
  ["print", 3, reddishPurple],
] as const)("on %s paper trace %i is the published hue, darker", (tone, at, from) => {
  const colour = traces(tone)[at] ?? "";
  const turned = Math.abs(((hue(colour) - hue(from) + 540) % 360) - 180);
  expect(turned).toBeLessThan(15);
  expect(contrast(colour, "#ffffff")).toBeGreaterThan(contrast(from, "#ffffff"));
});

test.each(["light", "dark", "sunlight"] as const)("on %s paper lines and words stand out enough", (tone) => {
  const token = tokens(tone);
  // WCAG 2.2, 1.4.11: what is drawn, 3 to 1. In the sun as much as words.
  for (const trace of traces(tone))
    expect(contrast(trace, token("paper")), trace).toBeGreaterThanOrEqual(tone === "sunlight" ? 4.5 : 3);
  for (const name of ["mark", "missed", "accent"])
    expect(contrast(token(name), token("paper")), name).toBeGreaterThanOrEqual(3);
  // 1.4.3: words, 4.5 to 1, on whatever they stand on.
  for (const name of ["ink", "ink-soft", "warn", "good", "accent"])
    for (const ground of ["paper", "desk"])
      expect(contrast(token(name), token(ground)), `${name} on ${ground}`).toBeGreaterThanOrEqual(4.5);
  for (const ground of ["rest", "key", "crank", "none", "run"])
    expect(contrast(token("ink"), token(`regime-${ground}`)), ground).toBeGreaterThanOrEqual(4.5);
});

test("printed lines and words stand out enough", () => {
  for (const drawn of [...paper.traces, paper.missed, paper.frame])
    expect(contrast(drawn, "#ffffff"), drawn).toBeGreaterThanOrEqual(3);
  for (const words of [paper.ink, paper.soft])
    expect(contrast(words, "#ffffff"), words).toBeGreaterThanOrEqual(4.5);
});

test.each(tones)("on %s paper no two traces look alike, also to who sees no red or no green", (tone) => {
  for (const eyes of ["all", "protan", "deutan"] as const)
    for (const [i, a] of traces(tone).entries())
      for (const b of traces(tone).slice(i + 1))
        expect(apart(a, b, eyes), `${a} and ${b}, ${eyes}`).toBeGreaterThan(leastApart);
});

test("the same look tells a red from a green, and finds them alike where they are", () => {
  const [red, forDeutan, forProtan] = ["#b04a2f", "#6b7a2a", "#5c5c2c"];
  for (const green of [forDeutan, forProtan])
    expect(apart(red, green, "all")).toBeGreaterThan(3 * leastApart);
  expect(apart(red, forDeutan, "deutan")).toBeLessThan(5);
  expect(apart(red, forProtan, "protan")).toBeLessThan(5);
});
