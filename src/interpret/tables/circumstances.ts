/**
 * What can look like a fault and is none of the vehicle's: how it was recorded, what it was doing, what was done to it
 * before. Common practice where no source is named. What is a fault is a row of the causes.
 */
export const circumstances = {
  cold: "cold: oil is thick and the battery weak below freezing",
  booster: "a booster or charger was connected: it changes rest and cranking volts",
  meter: "the adapter's own voltmeter, off by a tenth or more",
  "smart-charging": "a charging system that lowers its voltage on purpose",
  "load-electrical": "heavy electrical load, or a battery that is being filled after a long crank",
  "battery-off": "a battery that was flat or disconnected, which clears the same memory",
  "somebody-cleared": "codes that somebody erased",
  "fires-now-and-then":
    "a cylinder that fires now and then while it is cranked: fuel or spark was not disabled",
  "throttle-open": "a throttle that stands open while cranking, on purpose on some electronic ones",
  "stalled-by-driver": "a driver who stalled it",
  "key-off-on": "key turned off and on again between two readings",
  weather: "weather: barometric pressure swings by a few kPa",
  "wrong-altitude": "an altitude that was entered wrongly",
  "barometric-estimated": "a barometric value that the module only estimates",
  "partly-warm": "an engine not cooled down, or sun on one side",
  "block-heater": "a block heater",
  "really-cold": "air that really is that cold",
  "short-run": "too short or too cold a run to get warm",
  "coolant-low": "low coolant, the sensor hangs in air",
  "drive-by-wire": "an electronic throttle that rests slightly open with the engine off",
  "pedal-pressed": "a foot on the pedal",
  "misfire-looks-lean": "a misfire: its unburnt oxygen reads lean, although the mixture is right",
  unlearned: "trims not learned yet after a battery change or clearing",
  "fuel-blend": "fuel with more alcohol than expected",
  "load-idle": "load at idle: air conditioning, a gear engaged, electrical load",
  "late-timing": "late ignition timing",
  "rough-road": "a rough road or a drive-train jolt",
  "crank-ring": "a crank ring that was not learned or is damaged",
  mount: "an accessory or a mount that shakes",
  "monitor-off": "a monitor that is off: low fuel, rough road, just started, crank variation not learned",
  "counter-other": "a counter that counts something else than turns",
  "counter-slow": "a counter asked too seldom: it may have wrapped",
  "adapter-loose": "a loose plug or a failing adapter",
  "adapter-supply": "the adapter's own supply, which comes from the same socket",
  "not-asked": "values that were not asked at that time",
} as const satisfies Record<string, string>;

export type CircumstanceId = keyof typeof circumstances;
