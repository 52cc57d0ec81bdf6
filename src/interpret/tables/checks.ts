interface Check {
  readonly text: string;
  /** Safety, where the check needs a word of it. The vehicle's manual and local rules go first. */
  readonly caution?: string;
}

const cranking =
  "Neutral or park, brake on, hands, hair and leads clear of belts and fans. Rest the starter.";
const fuelLine =
  "Relieve the pressure first, cloth round the fitting, no flame. Direct injection: never open.";
const running = "Open air or an extraction hose: exhaust kills. Keep clear of belts and fans.";
const spark = "Grounded spark tester, no bare leads, no fuel vapour.";

/** Checks that tell one look-alike from another. Common practice where no source is named. */
export const checks = {
  "rest-voltage": { text: "Measure the battery itself at rest, an hour after charging or running." },
  "load-test": { text: "Load-test the battery: half its cold rating for 15 s, 9.6 V or more at 20 °C." },
  "drop-cranking": {
    text: "Measure the voltage drop of each cable and ground while cranking: 0.2 V at most.",
    caution: cranking,
  },
  "turn-by-hand": { text: "Turn the engine by hand at the crankshaft, plugs out if it is hard, key off." },
  "current-starter": {
    text: "Measure the starter's current: high with slow turning is drag, low is contact.",
  },
  "starter-feed": {
    text: "Measure at the starter's small terminal while someone turns the key.",
    caution: cranking,
  },
  "listen-starter": { text: "Listen: does the engine turn, does the starter spin free, or only click?" },
  "crank-sensor": {
    text: "Measure the crank sensor at its plug while cranking: signal, supply, gap.",
    caution: cranking,
  },
  "rev-counter": { text: "Watch a second counter, such as the cam signal, while cranking." },
  "module-feed": {
    text: "Measure feed and ground at the module's own pins, key on and cranking.",
    caution: cranking,
  },
  "alternator-output": {
    text: "Measure at the battery at 2000 rpm with lamps and blower on.",
    caution: running,
  },
  "belt-look": { text: "Look at the belt and its tensioner, engine off." },
  readiness: { text: "Look at readiness, warm-ups and distance since clearing, and ask who cleared." },
  "relative-compression": {
    text: "Compression test, or compare the current peaks of one crank.",
    caution: `${cranking} Fuel and spark off.`,
  },
  "wet-test": { text: "Repeat the compression with 15 ml of oil: better is rings, the same is valves." },
  "timing-marks": { text: "Check the timing marks, or the cam signal against the crank signal." },
  "exhaust-open": {
    text: "Open the exhaust ahead of the catalyst and try again, or measure back-pressure.",
    caution: running,
  },
  "pedal-down": { text: "Watch throttle and pedal from closed to open, key on, engine off." },
  "add-fuel": {
    text: "Add a little fuel at the intake while cranking: if it fires, spark and compression exist.",
    caution: "No flame, short bursts, face away, never with glow plugs or a grid heater.",
  },
  "spark-test": { text: "Spark tester on one coil while cranking.", caution: `${cranking} ${spark}` },
  "fuel-pressure": {
    text: "Measure fuel pressure, key on and under load, and how long it holds.",
    caution: fuelLine,
  },
  "fuel-glass": { text: "Let a sample of fuel settle in a glass: water, smell, colour.", caution: fuelLine },
  "fuel-level": { text: "Look at the gauge, then add fuel before anything that costs money." },
  "plugs-look": {
    text: "Take a plug out and look: wet, dry, black, white.",
    caution: "Engine cold, coils disabled.",
  },
  "security-lamp": { text: "Watch the security lamp, try a second key." },
  "relay-swap": {
    text: "Swap the relay with a like one, then swap back: what follows the part is the part.",
  },
  barometer: { text: "Compare with the weather service's pressure, corrected for your height." },
  altitude: { text: "Look up the height of the place and enter it." },
  "sensor-pressure": { text: "Unplug the hose of the pressure sensor: it must read the outside air." },
  infrared: { text: "Measure the same place with a second thermometer." },
  "sensor-unplug": {
    text: "Unplug the sensor, then bridge it: the reading must jump from one end to the other.",
  },
  soak: { text: "Leave it overnight and record the first key-on: coolant, intake and outside agree." },
  "thermostat-hose": {
    text: "Feel the upper hose while it warms: it stays cool until the thermostat opens.",
  },
  smoke: {
    text: "Smoke into the intake, or propane along the joints while the trim is recorded.",
    caution: running,
  },
  "oil-cap": {
    text: "Clamp the crankcase and brake-booster hoses one at a time, a mark on each.",
    caution: running,
  },
  "meter-clean": { text: "Compare air flow at idle with the litres: then clean or swap the meter." },
  "trim-load": {
    text: "Record idle, 2500 rpm held and a pull under load: the shape over air flow tells which.",
    caution: "On the road a second person reads; the driver never does.",
  },
  "injector-balance": {
    text: "Injector balance: pressure drop of each within 10 kPa of the mean.",
    caution: fuelLine,
  },
  "oxygen-propane": {
    text: "Add propane, then make a leak: the sensor must go rich and lean at once.",
    caution: running,
  },
  "exhaust-leak": {
    text: "Look and listen for an exhaust leak ahead of the sensor, cold start.",
    caution: running,
  },
  "purge-clamp": { text: "Clamp the purge hose and watch the trims.", caution: running },
  "unplug-cylinder": {
    text: "Unplug one injector at a time with a mark on each: the one without a drop is dead.",
    caution: `${running} Unplug injectors, not coils: raw fuel ruins the catalyst. Keep each short.`,
  },
  "swap-coil": {
    text: "Swap coil or plug with the neighbour: a misfire that moves has found its part.",
    caution: spark,
  },
  "compression-one": {
    text: "Compression of that cylinder against its neighbours.",
    caution: `${cranking} Fuel and spark off.`,
  },
  counters: { text: "Read the misfire counters of service 06 twice, some minutes of running apart." },
  "vacuum-gauge": {
    text: "Vacuum gauge on the manifold: steady, swinging or slowly falling.",
    caution: running,
  },
  "load-off": { text: "Switch air conditioning and lamps off, gear out, and look again." },
  "warm-idle": { text: "Record five minutes of warm idle, nothing touched." },
  faster: { text: "Ask for fewer channels so that each is read more often." },
  "crank-record": {
    text: "Record two cranks, a minute apart, key on ten seconds before each.",
    caution: cranking,
  },
  "plug-wiggle": { text: "Hold the plug, wiggle the lead, and watch for a gap." },
  "memory-saver": { text: "Power the adapter from elsewhere while cranking." },
  "codes-read": { text: "Read codes, freeze frame and readiness before anything is cleared." },
} as const satisfies Record<string, Check>;

export type CheckId = keyof typeof checks;
