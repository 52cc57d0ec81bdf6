import type { ChannelStore } from "../../../shared/channels.ts";
import type { ChannelInfo } from "../../../shared/decode.ts";
import type { ProtocolId } from "../../../shared/protocols.ts";
import type { LinkEvent, MarkEvent } from "../../../shared/recording/format.ts";
import type { JobFacts } from "../../../shared/vehicle.ts";
import type { ServiceAnswer, Gap } from "../../reading/index.ts";

/** What the interpreter reads: a `Reading` is one. */
export interface Source {
  readonly channels: ChannelStore;
  readonly marks: readonly MarkEvent[];
  readonly answers: readonly ServiceAnswer[];
  readonly links: readonly LinkEvent[];
  readonly gaps: readonly Gap[];
  readonly facts: JobFacts;
  readonly protocol: ProtocolId | null;
  readonly lastTime: number;
  /** Parameters that each module announced. */
  readonly modules: ReadonlyMap<string, ReadonlySet<number>>;
  info(channel: string): ChannelInfo;
}
