/** What is normal for a vehicle, for those who keep it on the disk. Pure. */
import type { RecordingNormal } from "../interpret/normal/gather.ts";

export { learnNormal, readNormal, type Normal } from "../interpret/index.ts";

export interface NamedNormal {
  /** The recording's, without its folder. */
  readonly name: string;
  readonly normal: RecordingNormal;
}
