/** The figures of a recording that what is normal for its vehicle is learned from, by the facts that hold for it. Pure. */
import { normalOf } from "../interpret/index.ts";
import type { RecordingNormal } from "../interpret/normal/gather.ts";
import type { Reading } from "../reading/index.ts";
import { effectiveFacts } from "./effectiveFacts.ts";

export { learnNormal, readNormal, type Normal } from "../interpret/index.ts";

export interface NamedNormal {
  readonly name: string;
  readonly normal: RecordingNormal;
}

/** `name`: the recording's, without its folder. */
export function normalFigures(reading: Reading, name: string): NamedNormal {
  const { vehicle } = effectiveFacts(reading.facts, null, name).facts;
  return { name, normal: normalOf(reading, vehicle) };
}
