/** What can be asked of a recording that was read, wherever that was done. */
import type { ChannelStore } from "../../shared/channels.ts";
import { channelInfo, type ChannelInfo } from "../../shared/decode.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import type { Header, LinkEvent, MarkEvent } from "../../shared/recording/format.ts";
import type { Notice } from "../../shared/recording/reader.ts";
import type { JobFacts } from "../../shared/vehicle.ts";

/** A stretch without a link; `to` is null while it lasts. Milliseconds since the start. */
export interface Gap {
  readonly from: number;
  to: number | null;
  readonly why: string;
}

/** A module's answer to a service other than 01: service byte first. */
export interface ServiceAnswer {
  readonly t: number;
  readonly module: string;
  readonly ask: string;
  readonly data: Uint8Array;
}

/** A longer answer of which a part did not come. */
export interface BrokenAnswer {
  readonly t: number;
  readonly module: string;
  readonly ask: string;
  readonly why: string;
}

export interface Read {
  readonly channels: ChannelStore;
  readonly gaps: readonly Gap[];
  readonly notices: readonly Notice[];
  readonly answers: readonly ServiceAnswer[];
  readonly broken: readonly BrokenAnswer[];
  readonly links: readonly LinkEvent[];
  readonly header: Header | null;
  readonly facts: JobFacts;
  readonly protocol: ProtocolId | null;
  /** Parameters that each module announced. */
  readonly modules: ReadonlyMap<string, ReadonlySet<number>>;
  /** Latest form of each mark, removed ones left out, by time. */
  readonly marks: readonly MarkEvent[];
  /** The latest time that anything was recorded at, milliseconds since the start. */
  readonly lastTime: number;
  readonly invented: boolean;
  /** What is known of a channel, also of one that stands in no table of ours. */
  info(channel: string): ChannelInfo;
}

/** `named`: what the recording itself says of its channels. */
export function infoIn(named: ReadonlyMap<string, ChannelInfo>, channel: string): ChannelInfo {
  return (
    named.get(channel) ?? channelInfo(channel) ?? { channel, name: channel, short: channel, unit: "ratio" }
  );
}
