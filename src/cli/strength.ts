/** The capture of relative compression on the command line: what to do now, told as it goes on. */
import type { Analyst } from "../analyst/index.ts";
import {
  captureTold,
  strengthCautions,
  strengthSteps,
  type CaptureTold,
} from "../interpret/crank/strengthCapture.ts";
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
  return ["Relative compression", ...steps, "Take care", ...cautions, ""].join("\n");
}

/** What to do now. `since`: when it began, of the recording's time. `over`: enough, or leads nowhere, and the key let go. */
export function strengthTold(
  analyst: Analyst,
  cylinders: number,
  since: number,
): CaptureTold & { readonly over: boolean } {
  const { reading: source } = analyst;
  const live = analyst.crank(source.lastTime)?.crank ?? null;
  const told = captureTold({ source, cranks: analyst.findings().cranks, live, cylinders, since });
  return { ...told, over: told.stop && (told.part >= 1 || told.hopeless) && live?.to !== null };
}
