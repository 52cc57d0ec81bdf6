/**
 * Mean, spread and effective number of correlated readings, kept as sums: n (1 - r) / (1 + r) with the lag-one
 * autocorrelation r of a first-order process (Bayley and Hammersley 1946, for large n).
 */
export class Correlated {
  #n = 0;
  #sum = 0;
  #squares = 0;
  #pairs = 0;
  #products = 0;
  #firsts = 0;
  #seconds = 0;
  #last: number | null = null;

  /** `joined` says that this reading follows the last one without a break. */
  add(value: number, joined: boolean): void {
    this.#n += 1;
    this.#sum += value;
    this.#squares += value * value;
    if (joined && this.#last !== null) {
      this.#pairs += 1;
      this.#products += this.#last * value;
      this.#firsts += this.#last;
      this.#seconds += value;
    }
    this.#last = value;
  }

  get n(): number {
    return this.#n;
  }

  get mean(): number {
    return this.#n === 0 ? Number.NaN : this.#sum / this.#n;
  }

  get variance(): number {
    if (this.#n < 2) return Number.NaN;
    return Math.max(0, (this.#squares - (this.#sum * this.#sum) / this.#n) / (this.#n - 1));
  }

  get autocorrelation(): number {
    const v = this.variance;
    if (this.#pairs < 3 || !(v > 0)) return 0;
    const m = this.mean;
    const covariance =
      (this.#products - m * this.#firsts - m * this.#seconds + this.#pairs * m * m) / this.#pairs;
    return Math.min(0.99, Math.max(0, covariance / v));
  }

  get effective(): number {
    const r = this.autocorrelation;
    return Math.max(1, (this.#n * (1 - r)) / (1 + r));
  }

  /** Half width of the 95 % interval of the mean; a single reading has none. */
  get halfWidth(): number {
    if (this.#n < 2) return Number.POSITIVE_INFINITY;
    return 1.96 * Math.sqrt(this.variance / this.effective);
  }
}
