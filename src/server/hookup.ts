/** From an address to something that can be listened to. */
import { randomInt } from "node:crypto";
import { attachAdapter, Bench, benchVehicle, practised, withCheckDigit } from "../../adapters/bench/index.ts";
import {
  Carriers,
  memoryPair,
  openSerial,
  openTcp,
  pacedClock,
  realClock,
} from "../../adapters/link/index.ts";
import { RateMemory } from "../../adapters/polling/rateMemory.ts";
import type { SessionOptions } from "../../adapters/polling/options.ts";
import { Session } from "../../adapters/polling/session.ts";
import { addressText, type Address } from "../../shared/address.ts";
import type { Clock } from "../../shared/clock.ts";
import { heardAlways } from "../../shared/heard.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { VehicleFacts } from "../../shared/vehicle.ts";
import type { ByteEnd } from "../../shared/wire.ts";

/** What is to be read of the vehicle. */
export type ToRead = Required<Pick<SessionOptions, "channels" | "pinned" | "defined" | "survey">> &
  Pick<SessionOptions, "unconfirmed">;

export interface Hook {
  /** Opens the line anew; at a baud rate where the line has one. */
  readonly open: (baud?: number) => Promise<ByteEnd>;
  /** The bench vehicle behind the line, if it is one. */
  readonly bench: Bench | null;
  /** What is known of the vehicle beforehand: everything of the bench vehicle, nothing of a real one. */
  readonly facts: VehicleFacts;
  session(sink: EventSink, asked: ToRead): Session;
}

export interface HookOptions {
  readonly clock: Clock;
  /** Of the bench vehicle; 1 where not given. */
  readonly seed?: number;
  /** What a surprise is drawn by, 0 to 1. */
  readonly draw?: () => number;
  /** Devices that pages hold; none where no page is served. */
  readonly carriers?: Carriers;
}

const chance = (): number => randomInt(0, 1_000_000) / 1_000_000;

export function hookUp(
  address: Address,
  { clock, seed = 1, draw = chance, carriers = new Carriers() }: HookOptions,
): Hook {
  const benchClock = clock === realClock ? pacedClock(clock) : clock;
  const bench =
    address.kind === "bench"
      ? new Bench({
          ...practised(address.vehicle, address.faults, draw),
          ...{ vehicle: address.vehicle, clock: benchClock, seed },
        })
      : null;
  // A vehicle is met with the key on: with it off, nothing answers.
  bench?.act({ act: "key", to: "on" });
  const open = opener(address, { benchClock, bench, carriers });
  return {
    open,
    bench,
    facts: address.kind === "bench" ? benchFacts(address.vehicle) : {},
    session: (sink, asked) =>
      new Session({
        open,
        address: addressText(address),
        clock,
        sink,
        ...asked,
        heard: heardAlways.map(({ channel }) => channel),
        ...baudOf(address),
        ...ratesOf(address),
      }),
  };
}

/** A serial port has a rate, which is found by trying where the person did not fix it. */
function baudOf(address: Address): Pick<SessionOptions, "findBaud" | "baud"> {
  const isSerial = address.kind === "serial" || (address.kind === "browser" && address.way === "serial");
  if (!isSerial) return {};
  const { baud } = address;
  return baud === undefined ? { findBaud: true } : { findBaud: false, baud };
}

/** Faster rates that were proven or failed, by port: the next session on it need not try them again. */
const rateMemories = new Map<string, RateMemory>();

/** A rate that the person fixed stays. */
function ratesOf(address: Address): { readonly rates?: RateMemory } {
  if (address.kind !== "serial" || address.baud !== undefined) return {};
  const rates = rateMemories.get(address.path) ?? new RateMemory();
  rateMemories.set(address.path, rates);
  return { rates };
}

function opener(
  address: Address,
  { benchClock, bench, carriers }: { benchClock: Clock; bench: Bench | null; carriers: Carriers },
): (baud?: number) => Promise<ByteEnd> {
  switch (address.kind) {
    case "serial":
      return (baud) => openSerial({ path: address.path, baud: baud ?? address.baud ?? 38_400 });
    case "tcp":
      return () => openTcp({ host: address.host, port: address.port });
    case "browser":
      return (baud) => carriers.open(address.way, baud ?? address.baud ?? 38_400);
    case "bench":
      return () => {
        const [ours, theirs] = memoryPair(addressText(address), "bench adapter");
        if (bench !== null) attachAdapter(bench, theirs, benchClock);
        return Promise.resolve(ours);
      };
  }
}

function benchFacts(id: string): VehicleFacts {
  const v = benchVehicle(id);
  return {
    // Every screen and note says that it is invented; the name need not say it again.
    name: v.name.replace(/ \(.*\)$/, ""),
    vin: withCheckDigit(v.vin),
    cylinders: v.firingOrder.length,
    displacementL: v.displacementL,
    banks: new Set(v.bankOf).size,
    fuel: v.fuel,
    metering: v.metering,
    induction: v.boostKpa > 0 ? "charged" : "natural",
    altitudeM: 0,
    idleRpm: v.idleRpm,
  };
}
