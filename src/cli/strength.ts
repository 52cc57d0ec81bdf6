/** The capture of the cylinders' strength on the command line: what to do now, told as it goes on. */
import { Cranks } from "../analyst/cranks.ts";
import {
  captureTold,
  strengthCautions,
  strengthSteps,
  type CaptureTold,
} from "../interpret/crank/strengthCapture.ts";
import { Interpreter, VehicleRanges } from "../interpret/index.ts";
import type { Reading } from "../reading/index.ts";
import { CranksideError } from "../../shared/errors.ts";

export function cylinderCount(text: string): number {
  const count = Number(text);
  if (Number.isInteger(count) && count >= 2 && count <= 16) return count;
  throw new CranksideError("wrong-use", "no such number of cylinders", {
    expected: "2 to 16",
    found: JSON.stringify(text),
  });
}

/** Steps and cautions, to be read before the key is turned. */
export function strengthIntroduction(): string {
  const steps = strengthSteps.map((step, i) => `  ${i + 1}. ${step}`);
  const cautions = strengthCautions.map((caution) => `  - ${caution}`);
  return ["Strength of the cylinders", ...steps, "Take care", ...cautions, ""].join("\n");
}

export class StrengthFollower {
  readonly #reading: Reading;
  readonly #interpreter: Interpreter;
  readonly #cranks: Cranks;
  readonly #cylinders: number;
  readonly #since: number;

  constructor(reading: Reading, cylinders: number) {
    this.#reading = reading;
    this.#cylinders = cylinders;
    this.#since = reading.lastTime;
    this.#interpreter = new Interpreter(reading, { cylinders });
    const ranges = new VehicleRanges({ cylinders });
    this.#cranks = new Cranks(reading, () => ranges);
  }

  /** `over`: it is enough, or leads nowhere, and the key was let go. */
  told(): CaptureTold & { readonly over: boolean } {
    const reading = this.#reading;
    const live = this.#cranks.told(reading.lastTime)?.crank ?? null;
    this.#interpreter.advance();
    const { cranks } = this.#interpreter.findings();
    const [cylinders, since] = [this.#cylinders, this.#since];
    const told = captureTold({ source: reading, cranks, live, cylinders, since });
    return {
      ...told,
      over: told.stop && (told.part >= 1 || told.hopeless) && live?.to !== null,
    };
  }
}
