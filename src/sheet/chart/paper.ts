/**
 * Colours of a printed chart. Traces: M. Okabe, K. Ito, "Color Universal Design" (J*FLY, 2002, revised 2008; values from
 * memory), green and purple darkened for thin lines on paper, as on the page.
 */
export const paper = {
  traces: ["#0072b2", "#d55e00", "#00805d", "#b0528c", "#000000"],
  band: "#e3ece4",
  grid: "#e6e2d6",
  frame: "#8d8673",
  ink: "#1d222b",
  soft: "#5a5547",
  missed: "#a34700",
  gap: "#d8d3c4",
  ribbon: { rest: "#f1efe8", key: "#fffefa", crank: "#d3e5f2", none: "#f9dccb", run: "#d5ebdf" },
} as const;
