/**
 * Two counts over two times, against one another: the chance that so many or more fall into the first time if the rate is the
 * same in both. Exact: given their sum, the first count is binomial with the share of its time (Przyborowski and Wilenski,
 * Biometrika 31 (1940), 313-323).
 */
export interface CountedOver {
  readonly count: number;
  /** In the same unit for both. */
  readonly time: number;
}

export function atLeastByChance(first: CountedOver, second: CountedOver): number {
  const n = first.count + second.count;
  const share = first.time / (first.time + second.time);
  let sum = 0;
  for (let k = first.count; k <= n; k++) sum += binomialTerm(n, k, share);
  return Math.min(1, sum);
}

/** By logarithms: the coefficients of some hundred events are beyond any number. */
export function binomialTerm(n: number, k: number, share: number): number {
  if (share <= 0 || share >= 1) return k === (share <= 0 ? 0 : n) ? 1 : 0;
  let log = k * Math.log(share) + (n - k) * Math.log(1 - share);
  for (let i = 1; i <= k; i++) log += Math.log((n - k + i) / i);
  return Math.exp(log);
}
