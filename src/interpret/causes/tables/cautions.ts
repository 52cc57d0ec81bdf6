/** Cautions for hand checks, to be read beside the steps. The vehicle's manual, local rules and licensed work go first. */
export const cautions = {
  cranking: {
    text: "Neutral or park, brake on; hands, hair and leads clear of belts and fans, which may start alone. Crank 15 s at most, then let the starter rest.",
    source: "service manual 1997; owner's manual (flooded start); rest common practice",
  },
  "compression-crank": {
    text: "Fuel and spark off, remote switch where there is one: cranking by the key injects fuel.",
    source: "service manual 1997",
  },
  "starting-fluid": {
    text: "No flame, short bursts, face away, it may backfire. Never with glow plugs or a grid heater.",
    source: "common practice",
  },
  "fuel-line": {
    text: "Relieve the pressure first, cloth round the fitting, drain into an approved can. The pump may run 2 s after key-off. Direct injection is at 50 to 200 bar: never open it.",
    source: "service manuals 1997, 2000; direct injection common practice",
  },
  "fuel-vapour": {
    text: "Petrol outside the tank: no ignition source, open air, extinguisher within reach.",
    source: "common practice",
  },
  "fuel-spray": {
    text: "Injectors out spray petrol as mist: no ignition source, coils disabled, extinguisher ready.",
    source: "common practice",
  },
  spark: {
    text: "30 to 50 kV: grounded tester, no bare leads, no fuel vapour. A coil that fires into nothing can damage the module.",
    source: "article on spark testing; last part common practice",
  },
  exhaust: {
    text: "Exhaust kills in a closed room: extraction hose or open air. A hybrid may start by itself.",
    source: "common practice; service manual 2013",
  },
  catalyst: {
    text: "Unburnt fuel overheats the catalyst: keep misfire tests and cranking short.",
    source: "service manual, catalyst precautions",
  },
  jump: {
    text: "Same voltage, polarity checked, last clamp on engine ground away from the battery (hydrogen). No frozen battery.",
    source: "common practice",
  },
  lifting: {
    text: "Rated stands on firm level ground, never the jack alone; wheels chocked.",
    source: "common practice",
  },
  hot: {
    text: "Hot engine and exhaust; never open a hot cooling system.",
    source: "common practice",
  },
  "moving-parts": {
    text: "Key off and out before hands go near belt or crankshaft pulley.",
    source: "common practice",
  },
  "acid-current": {
    text: "Battery gas explodes: no spark at the clamps, eyes covered; a short by a tool burns.",
    source: "common practice",
  },
  bridge: {
    text: "Fused wire, terminals by the vehicle's manual: a wrong pair feeds a module directly. Remove it afterwards.",
    source: "common practice",
  },
  clearing: {
    text: "Clearing erases freeze frame, readiness and learned values: have them in a recording first.",
    source: "SAE J1979 service 04, from memory",
  },
  "direct-injection": {
    text: "Direct and piezo injectors: no noid light, no unplugging while it runs, no line opened. They are under high pressure and 100 V or more, and their driver dies.",
    source: "common practice",
  },
  ratchet: {
    text: "Ratchet or bar off the crankshaft before air goes in: the piston turns the engine, and the tool with it.",
    source: "common practice",
  },
  smoke: {
    text: "Smoke and propane burn: engine off or cold for smoke, no flame, no sparks, open air; shut the bottle first.",
    source: "common practice",
  },
  airbag: {
    text: "Supply off and 90 s wait before yellow connectors; no test lamp on them.",
    source: "service manual 2007; colour common practice",
  },
} as const satisfies Record<string, { readonly text: string; readonly source: string }>;

export type CautionId = keyof typeof cautions;

/** Stands once where cautions are shown. */
export const cautionFirst =
  "The vehicle's manual, local rules and licensed practice come before anything said here.";
