/** What hand checks are done with. A person says which of these they lack; the checks that need them are skipped. */
export const tools = {
  program: "this program, connected",
  "hand-tools": "hand tools",
  multimeter: "multimeter",
  "test-lamp": "test lamp",
  "load-tester": "battery load tester",
  "clamp-meter": "direct-current clamp",
  booster: "booster battery and leads",
  "spark-tester": "spark tester",
  "pulse-lamp": "injector pulse lamp",
  "fuel-gauge": "fuel pressure gauge",
  "compression-gauge": "compression gauge",
  "leak-down-tester": "leak-down tester and compressed air",
  "vacuum-gauge": "vacuum gauge",
  "back-pressure-gauge": "back-pressure gauge",
  "smoke-machine": "smoke machine",
  thermometer: "infrared thermometer",
  borescope: "borescope",
  "starting-fluid": "starting fluid",
  propane: "propane with a hose",
  "glass-jar": "clear glass and a fuel can",
  "hose-clamp": "hose clamp pliers",
  "jumper-wire": "fused jumper wire",
  helper: "a second person",
  jack: "jack and stands",
} as const satisfies Record<string, string>;

export type ToolId = keyof typeof tools;
