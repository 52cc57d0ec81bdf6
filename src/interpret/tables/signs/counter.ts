import { estimates, running, type FamilyRows } from "./row.ts";

/** Counters that turn with the engine. */
export const counterSigns = {
  "counter.still": {
    title: "Counter stands still",
    outside: "The engine turns and this counter does not count.",
    within: "The counter counts while the engine turns.",
    needs: "the counter asked three times while the engine turns",
    figures: [],
    judged: ["cranking", ...running],
    kind: "any",
    says: {
      group: "crank-signal",
      often: {
        outside: {
          otherwise: 0.01,
          "crank-signal-dead": 0.8,
          "cam-signal-dead": 0.4,
          "crank-signal-weak": 0.4,
        },
      },
      source: estimates,
    },
    also: ["counter-other"],
    checks: ["crank-sensor", "second-counter"],
  },
  "counter.steps": {
    title: "Counter does not fit the speed",
    outside: "The counter steps do not keep pace with engine speed.",
    within: "The counter keeps pace with engine speed.",
    needs: "the counter asked some ten times while the engine turns",
    figures: ["counter-step"],
    judged: ["cranking", ...running],
    kind: "any",
    says: {
      group: "crank-signal",
      often: {
        outside: {
          otherwise: 0.02,
          "crank-signal-contact": 0.6,
          "crank-signal-weak": 0.35,
          "cam-signal-dead": 0.2,
        },
      },
      source: estimates,
    },
    also: ["counter-slow", "counter-other", "crank-ring"],
    checks: ["crank-sensor", "faster"],
  },
} as const satisfies FamilyRows<"counter">;
