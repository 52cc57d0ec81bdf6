/** Means and spreads of readings, apart by how the engine turns. */

export const ways = ["still", "cranking", "idle", "faster"] as const;
export type Way = (typeof ways)[number];

export function wayOf(rpm: number): Way {
  if (!(rpm > 30)) return "still";
  if (rpm < 450) return "cranking";
  return rpm < 1400 ? "idle" : "faster";
}

export interface Stat {
  readonly n: number;
  readonly mean: number;
  /** Standard deviation. */
  readonly spread: number;
  readonly least: number;
  readonly most: number;
  /** Part of all readings of this quantity that were taken so. */
  readonly share: number;
}

interface Sums {
  n: number;
  mean: number;
  squares: number;
  least: number;
  most: number;
}

export class Summary {
  #way: Way = "still";
  readonly #sums = new Map<string, Map<Way, Sums>>();

  /** How the engine turns from here on. */
  at(rpm: number): void {
    this.#way = wayOf(rpm);
  }

  add(what: string, value: number): void {
    const ofIt = this.#sums.get(what) ?? new Map<Way, Sums>();
    this.#sums.set(what, ofIt);
    const s = ofIt.get(this.#way) ?? { n: 0, mean: 0, squares: 0, least: value, most: value };
    ofIt.set(this.#way, s);
    s.n += 1;
    const from = value - s.mean;
    s.mean += from / s.n;
    s.squares += from * (value - s.mean);
    s.least = Math.min(s.least, value);
    s.most = Math.max(s.most, value);
  }

  /** By quantity and way, such as "rpm idle". */
  stats(): Map<string, Stat> {
    const out = new Map<string, Stat>();
    for (const [what, ofIt] of this.#sums) {
      const all = [...ofIt.values()].reduce((sum, s) => sum + s.n, 0);
      for (const [way, { n, mean, squares, least, most }] of ofIt) {
        const spread = Math.sqrt(squares / Math.max(1, n - 1));
        out.set(`${what} ${way}`, { n, mean, spread, least, most, share: n / all });
      }
    }
    return out;
  }
}
