/**
 * Extremely randomised trees: each cut is drawn at random and the best of a few is kept. P. Geurts, D. Ernst,
 * L. Wehenkel, Machine Learning 63 (2006), 3-42; from memory. Missing numbers go to a side of their own.
 */
import { seeded } from "../../shared/seeded.ts";
import type { Features } from "./features.ts";

export interface Example {
  readonly features: Features;
  readonly label: string;
}

type Tree =
  | { readonly shares: ReadonlyMap<string, number> }
  | { readonly name: string; readonly cut: number; readonly less: Tree; readonly more: Tree };

const trees = 120;
/** Below everything that is measured: not there. */
const missing = -1e9;
const at = (features: Features, name: string): number => features[name] ?? missing;

export class Forest {
  readonly #trees: readonly Tree[];

  constructor(examples: readonly Example[], seed = 1) {
    const random = seeded(seed);
    const names = [...new Set(examples.flatMap(({ features }) => Object.keys(features)))].sort();
    const tries = Math.max(1, Math.ceil(2 * Math.sqrt(names.length)));
    this.#trees = Array.from({ length: trees }, () => grow(examples, { names, tries, random }));
  }

  /** Labels, the likeliest first. */
  rank(features: Features): string[] {
    const sums = new Map<string, number>();
    for (const tree of this.#trees) {
      for (const [label, share] of leafOf(tree, features)) sums.set(label, (sums.get(label) ?? 0) + share);
    }
    return [...sums].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1)).map(([label]) => label);
  }
}

function leafOf(tree: Tree, features: Features): ReadonlyMap<string, number> {
  let here = tree;
  while (!("shares" in here)) here = at(features, here.name) < here.cut ? here.less : here.more;
  return here.shares;
}

interface Growing {
  readonly names: readonly string[];
  readonly tries: number;
  readonly random: () => number;
}

function grow(examples: readonly Example[], how: Growing): Tree {
  const counts = countsOf(examples);
  if (counts.size <= 1) return leaf(counts, examples.length);
  let best: { name: string; cut: number; gain: number } | null = null;
  for (let i = 0; i < how.tries * 3 && (best === null || i < how.tries); i++) {
    const name = how.names[Math.floor(how.random() * how.names.length)] ?? "";
    const values = examples.map((e) => at(e.features, name));
    const low = values.reduce((a, b) => Math.min(a, b));
    const high = values.reduce((a, b) => Math.max(a, b));
    if (low === high) continue;
    const there = values.filter((v) => v > missing);
    const from = there.reduce((a, b) => Math.min(a, b));
    // Where some have no such number, having it is a cut of its own.
    const cut = low === missing && how.random() < 0.5 ? from : from + (high - from) * how.random();
    const gain = gainOf(examples, name, cut);
    if (gain > (best?.gain ?? 0)) best = { name, cut, gain };
  }
  if (best === null) return leaf(counts, examples.length);
  const { name, cut } = best;
  const less = examples.filter((e) => at(e.features, name) < cut);
  const more = examples.filter((e) => at(e.features, name) >= cut);
  return { name, cut, less: grow(less, how), more: grow(more, how) };
}

function leaf(counts: ReadonlyMap<string, number>, all: number): Tree {
  return { shares: new Map([...counts].map(([label, n]) => [label, n / all])) };
}

function countsOf(examples: readonly Example[]): Map<string, number> {
  const counts = new Map<string, number>();
  for (const { label } of examples) counts.set(label, (counts.get(label) ?? 0) + 1);
  return counts;
}

/** How much a cut tells of the label: mutual information, nats. */
function gainOf(examples: readonly Example[], name: string, cut: number): number {
  const less = examples.filter((e) => at(e.features, name) < cut);
  const more = examples.filter((e) => at(e.features, name) >= cut);
  if (less.length === 0 || more.length === 0) return 0;
  const part = (some: readonly Example[]): number => (some.length / examples.length) * entropy(some);
  return entropy(examples) - part(less) - part(more);
}

function entropy(examples: readonly Example[]): number {
  let sum = 0;
  for (const n of countsOf(examples).values()) sum -= (n / examples.length) * Math.log(n / examples.length);
  return sum;
}
