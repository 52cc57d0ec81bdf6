import type { SignId } from "./signs.ts";

/**
 * How a sign is said across the bay, most telling first. `{Subject}` is the bank or the engine, `{cylinder}` the
 * cylinder, `{value}` the figure with its unit, `{code}` the first trouble code. `low` and `high` where the side matters.
 */
interface HeadlineRow {
  readonly id: SignId;
  readonly says: string;
  readonly low?: string;
  readonly high?: string;
}

/** Wording is ours; words of the trade and of SAE J1930. In the order of what explains most of the others. */
export const headlineRows: readonly HeadlineRow[] = [
  { id: "link.no-module", says: "No module answers" },
  { id: "crank.lost-signal", says: "RPM signal lost while running" },
  { id: "crank.drop-outs", says: "RPM signal drops out while cranking" },
  { id: "crank.no-speed", says: "Starter draws current, no RPM signal" },
  { id: "crank.no-turn", says: "Starter draws current, engine does not turn" },
  { id: "power.collapse", says: "Supply collapses under the starter" },
  { id: "crank.no-compression", says: "Turns fast with little pull-down" },
  { id: "crank.drag", says: "Turns slowly at good volts: {value}" },
  { id: "crank.speed", says: "Cranking speed is {value}", low: "Turns too slowly: {value}" },
  { id: "power.crank-voltage", says: "Supply falls to {value} while cranking" },
  { id: "crank.no-fire", says: "Turns and does not fire" },
  { id: "crank.dies", says: "Fires and dies" },
  { id: "crank.stall", says: "Stalls" },
  { id: "crank.nothing", says: "Key to start, and nothing happens" },
  { id: "misfire.cylinder", says: "Cylinder {cylinder} gives less than the others" },
  { id: "misfire.counts", says: "{Misfiring} misfires" },
  { id: "mixture.unmetered-air", says: "{Subject} gets about {value} of unmetered air" },
  { id: "mixture.delivery", says: "{Subject} lacks fuel as load rises" },
  {
    id: "mixture.metering",
    says: "Fuel trim of {subject} is off at all loads",
    low: "Fuel trim of {subject}: rich at all loads",
    high: "Fuel trim of {subject}: lean at all loads",
  },
  { id: "mixture.clipped", says: "Fuel trim of {subject} is at its limit: {value}" },
  { id: "mixture.lean", says: "{Subject} runs lean: fuel trim {value}" },
  { id: "mixture.rich", says: "{Subject} runs rich: fuel trim {value}" },
  { id: "misfire.codes", says: "{Misfiring} misfires: {code}" },
  { id: "misfire.rough", says: "Idles roughly" },
  { id: "mixture.banks", says: "The banks need different fuel trim" },
  {
    id: "mixture.fuel-pressure",
    says: "Fuel pressure is {value}",
    low: "Fuel pressure is low: {value}",
    high: "Fuel pressure is high: {value}",
  },
  {
    id: "power.charging",
    says: "Charging at {value}",
    low: "Does not charge: {value}",
    high: "Overcharges: {value}",
  },
  {
    id: "power.rest-voltage",
    says: "{value} at key on",
    low: "Battery is low at key on: {value}",
    high: "High voltage at key on: {value}",
  },
  { id: "power.feed-drop", says: "Module and socket differ by {value}" },
  { id: "crank.throttle-open", says: "Throttle reads {value} while cranking" },
  { id: "sensor.temperature-circuit", says: "A temperature sensor's circuit is open or shorted" },
  { id: "sensor.coolant-intake", says: "ECT and IAT disagree before the start" },
  { id: "sensor.coolant-still", says: "ECT does not move" },
  { id: "sensor.coolant-warm", says: "ECT is {value} after a quarter of an hour" },
  { id: "sensor.key-on-manifold", says: "MAP and BARO disagree with the engine off" },
  { id: "sensor.altitude", says: "BARO does not fit the height of the place" },
  { id: "sensor.manifold-still", says: "MAP does not follow the engine" },
  { id: "sensor.load-manifold", says: "MAP does not fit the load" },
  { id: "sensor.idle-air-flow", says: "MAF at idle does not fit the displacement" },
  { id: "sensor.throttle-rest", says: "TPS at rest reads {value}" },
  { id: "sensor.oxygen", says: "O2 sensor ahead of the catalyst does not switch" },
  { id: "mixture.hunting", says: "Surges" },
  {
    id: "mixture.idle-speed",
    says: "Warm idle at {value}",
    low: "Idles too slowly: {value}",
    high: "Idles too fast: {value}",
  },
  { id: "mixture.idle-manifold", says: "MAP at warm idle is {value}" },
  { id: "mixture.lambda", says: "Lambda in closed loop is {value}" },
  { id: "mixture.loop", says: "Does not go to closed loop" },
  { id: "mixture.fuel-level", says: "Fuel level is {value}" },
  { id: "crank.pull-down", says: "Pull-down while cranking is {value}" },
  { id: "crank.time-to-fire", says: "Takes {value} to fire" },
  { id: "crank.codes", says: "{code}" },
  { id: "power.codes", says: "{code}" },
  { id: "mixture.codes", says: "{code}" },
  { id: "sensor.codes", says: "{code}" },
  { id: "mixture.freeze-frame", says: "Freeze frame is stored" },
  { id: "mixture.trims", says: "Fuel trim of {subject} is {value}" },
  { id: "counter.still", says: "A counter stands still" },
  { id: "counter.steps", says: "A counter does not fit the speed" },
  { id: "link.one-silent", says: "One module is silent, others answer" },
  { id: "link.silent-module", says: "A module fell silent" },
  { id: "link.gaps", says: "The recording has gaps" },
  { id: "power.memory-cleared", says: "Codes were cleared not long ago" },
  { id: "crank.attempts", says: "Cranked" },
];
