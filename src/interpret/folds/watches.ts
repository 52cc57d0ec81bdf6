import { socketVoltage } from "../../../shared/decode.ts";
import { StopWatch } from "../crank/stopping.ts";
import { Supply } from "../power/sag.ts";
import { Followed, type InstantReading } from "./followed.ts";
import type { Surroundings } from "./running.ts";
import { AnswerWatch } from "./silence.ts";
import { SpeedWatch } from "./speedWatch.ts";

/** All that the readings of an instant and of those before say, one watch a matter, before a phase is told from it. */
export class Watches {
  readonly speed: SpeedWatch;
  readonly supply = new Supply();
  readonly answers = new AnswerWatch();
  readonly #followed = new Followed();
  readonly #stops = new StopWatch();
  readonly #shutsOff: boolean | undefined;
  #rpm: number | null = null;

  /** `runAt`: from this speed on it runs by itself, rpm; `shutsOff`: the vehicle stops its engine at a standstill. */
  constructor(runAt: number, shutsOff?: boolean) {
    this.speed = new SpeedWatch(runAt);
    this.#shutsOff = shutsOff;
  }

  /** Engine speed at this instant; null where none was read. */
  get rpm(): number | null {
    return this.#rpm;
  }

  take(t: number, readings: readonly InstantReading[], running: boolean): void {
    this.#rpm = null;
    for (const { channel, module, value } of readings) {
      if (channel !== "engine-speed") continue;
      this.speed.noteAsked();
      if (Number.isNaN(value)) this.speed.unanswered(t);
      else if (this.#followed.owns(channel, module, readings)) this.#rpm = value;
    }
    this.#followed.take(t, readings);
    for (const { channel, module, value } of readings) {
      if (Number.isNaN(value)) continue;
      if (running && StopWatch.follows(channel) && this.#followed.owns(channel, module, readings))
        this.#stops.take(t, channel, value);
      if (channel === socketVoltage) this.supply.socket.take(t, value, running);
      else if (channel === "module-voltage" && this.#followed.owns(channel, module, readings))
        this.supply.module.take(t, value, running);
    }
    if (this.#rpm !== null) this.speed.take(t, this.#rpm);
  }

  surroundings(t: number): Surroundings {
    return this.#followed.surroundings(t);
  }

  runTime(t: number): number | null {
    return this.#followed.value("run-time", t);
  }

  /** The module shut it off, as is known at `t`; else it died. */
  wasShutOff(from: number, t: number): boolean {
    return this.#stops.wasShutOff(from, t, this.surroundings(t).barometric, this.#shutsOff);
  }
}
