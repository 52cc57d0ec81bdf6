/** Faults of the engine itself, its air, fuel and spark, as data. */
import type { BenchFaultRow } from "./faultsElectric.ts";
import type { BenchVehicle } from "./vehicles.ts";

const spark = (v: BenchVehicle): boolean => v.fuel === "petrol";
/** Cylinder that is hurt where a fault hits one, counted from 0. */
const hurt = (v: BenchVehicle): number => v.firingOrder.length - 2;

export const engineFaults: readonly BenchFaultRow[] = [
  {
    id: "engine-tight",
    name: "Engine tight",
    broken: "bearings or pistons drag, up to 1.85 times the healthy friction",
    apply: (d, s) => {
      d.frictionFactor *= 1 + 0.85 * s;
    },
  },
  {
    id: "pump-dead",
    name: "Fuel pump dead",
    broken: "the fuel pump does not turn",
    apply: (d, s) => {
      if (s >= 0.5) d.pump = 0;
    },
  },
  {
    id: "pump-weak",
    name: "Fuel pump weak",
    broken: "a worn pump: less pressure and far less flow",
    apply: (d, s) => {
      d.pump *= 1 - 0.78 * s;
    },
  },
  {
    id: "filter-blocked",
    name: "Fuel filter or line blocked",
    broken: "pressure is lost on the way, with the square of the flow",
    apply: (d, s) => {
      d.filter += 6 * s * s;
    },
  },
  {
    id: "stale-fuel",
    name: "Stale fuel",
    broken: "light ends evaporated, gum: less vapour from the same fuel",
    fits: spark,
    apply: (d, s) => {
      d.staleness = Math.max(d.staleness, s);
    },
  },
  {
    id: "tank-empty",
    name: "Tank nearly empty",
    broken: "the pump draws air, now and then or all the time",
    apply: (d, s) => {
      d.tankEmpty = Math.max(d.tankEmpty, s);
    },
  },
  {
    id: "injectors-clogged",
    name: "All injectors clogged",
    broken: "varnish in every injector: up to 55 % of the flow gone, more in some than in others",
    apply: (d, s) => {
      d.injector.forEach((share, i) => {
        d.injector[i] = share * (1 - s * (0.45 + 0.1 * ((i * 7) % 3) * 0.5));
      });
    },
  },
  {
    id: "injector-clogged",
    name: "One injector clogged",
    broken: "varnish in one injector: up to 75 % of its flow gone",
    apply: (d, s, v) => {
      d.injector[hurt(v)] = (d.injector[hurt(v)] ?? 1) * (1 - 0.75 * s);
    },
  },
  {
    id: "injectors-clogged-bank",
    name: "Injectors of one bank clogged",
    broken: "varnish in all injectors of one bank: up to half of the flow gone",
    fits: (v) => spark(v) && Math.max(...v.bankOf) > 0,
    apply: (d, s, v) => {
      v.bankOf.forEach((bank, i) => {
        if (bank === 1) d.injector[i] = (d.injector[i] ?? 1) * (1 - 0.5 * s);
      });
    },
  },
  {
    id: "injector-stuck-open",
    name: "Injector stuck open",
    broken: "one injector leaks whenever there is rail pressure",
    fits: spark,
    apply: (d, s, v) => {
      d.injectorLeak[hurt(v)] = 0.3 * s;
    },
  },
  {
    id: "ignition-dead",
    name: "Ignition dead",
    broken: "no coil fires",
    fits: spark,
    apply: (d, s) => {
      if (s >= 0.5) d.coil.fill(0);
    },
  },
  {
    id: "ignition-weak",
    name: "Ignition weak",
    broken: "tired coils and wide plug gaps: too little energy where it is hard to spark",
    fits: spark,
    apply: (d, s) => {
      d.coil.forEach((share, i) => {
        d.coil[i] = share * (1 - s * (0.36 + 0.05 * ((i * 3) % 4)));
      });
    },
  },
  {
    id: "ignition-one-cylinder",
    name: "Ignition of one cylinder",
    broken: "one coil gives up: weak at small severity, dead at 1",
    fits: spark,
    apply: (d, s, v) => {
      d.coil[hurt(v)] = Math.max(0, (d.coil[hurt(v)] ?? 1) * (1 - s));
    },
  },
  {
    id: "plug-one-cylinder",
    name: "Spark plug of one cylinder",
    broken: "one plug is cracked or fouled: its coil is whole, and the spark goes to ground",
    fits: spark,
    apply: (d, s, v) => {
      d.plug[hurt(v)] = 1 - s;
    },
  },
  {
    id: "timing-slipped",
    name: "Valve timing slipped",
    broken: "the camshaft lags the crankshaft by up to 36 degrees",
    apply: (d, s) => {
      d.valveSlip += 36 * s;
    },
  },
  {
    id: "compression-low-one",
    name: "Compression low in one cylinder",
    broken: "a burnt valve",
    apply: (d, s, v) => {
      d.valveLeak[hurt(v)] = 12 * s * s;
    },
  },
  {
    id: "compression-low-all",
    name: "Compression low in all cylinders",
    broken:
      "worn rings throughout: they leak, most at little pressure, and press and rub less than sound ones",
    apply: (d, s) => {
      d.ringLeak.forEach((leak, i) => {
        d.ringLeak[i] = leak + 45 * s * s * (0.9 + 0.1 * ((i * 5) % 3));
      });
      // Pistons and rings make half of the rubbing friction, rings the larger part of it (Heywood 13.6, from memory).
      d.frictionFactor *= 1 - 0.25 * s;
    },
  },
  {
    id: "exhaust-blocked",
    name: "Exhaust blocked",
    broken: "a molten catalyst: the exhaust's resistance grows up to 3000-fold",
    apply: (d, s) => {
      d.exhaustBlock *= 1 + 3000 * s ** 3;
    },
  },
  {
    id: "unmetered-air",
    name: "Unmetered air",
    broken: "a split hose or gasket lets air in behind the throttle: up to two thirds of a warm idle's air",
    fits: spark,
    apply: (d, s, v) => {
      d.leakArea += 3e-6 * v.displacementL * s;
    },
  },
  {
    id: "unmetered-air-large",
    name: "Unmetered air, large",
    broken: "a hose is off behind the throttle: up to three times a warm idle's air",
    fits: spark,
    apply: (d, s, v) => {
      d.leakArea += 1.3e-5 * v.displacementL * s;
    },
  },
  {
    id: "unmetered-air-bank",
    name: "Unmetered air on one bank",
    broken:
      "the intake gasket of bank 2 leaks at its ports: up to a third more than those cylinders are fed for at a warm idle",
    fits: (v) => spark(v) && Math.max(...v.bankOf) > 0,
    apply: (d, s, v) => {
      d.portLeakArea += 0.85e-6 * v.displacementL * s;
    },
  },
  {
    id: "exhaust-leak",
    name: "Exhaust leak ahead of the sensor",
    broken: "a cracked manifold of bank 1 draws air in between pulses, most at idle",
    fits: spark,
    apply: (d, s) => {
      d.exhaustAir = Math.max(d.exhaustAir, s);
    },
  },
  {
    id: "purge-stuck-open",
    name: "Purge valve stuck open",
    broken: "canister air, with fuel vapour at first, enters all the time",
    fits: spark,
    apply: (d, s, v) => {
      d.purgeArea += 2.2e-6 * v.displacementL * s;
    },
  },
  {
    id: "thermostat-open",
    name: "Thermostat stuck open",
    broken: "the cooler is always in the circuit",
    apply: (d, s) => {
      d.thermostatOpen = Math.max(d.thermostatOpen, s);
    },
  },
];
