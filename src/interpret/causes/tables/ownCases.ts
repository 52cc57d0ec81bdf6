/** How much a shop's own proved cases say beside the tables. */
export const ownCases = {
  /**
   * The tables' weights of a complaint count as so many proved cases of it (the concentration of a Dirichlet prior): after
   * as many own cases, own experience and tables weigh alike.
   */
  worth: 20,
  least: 1,
  most: 1000,
  source:
    "an estimate: the weights are common practice put into figures, worth some twenty cases seen by one shop; conjugate prior of counts: Dirichlet, from memory",
} as const;
