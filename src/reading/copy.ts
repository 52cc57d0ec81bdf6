/**
 * A reading that another thread sees as it grows: what came since the last time goes over as plain values, and is put to
 * what is there already. Columns go as their tails, each reading once.
 */
import { ChannelStore, type Series } from "../../shared/channels.ts";
import type { ChannelInfo } from "../../shared/decode.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import type { Header, LinkEvent, MarkEvent } from "../../shared/recording/format.ts";
import type { Notice } from "../../shared/recording/reader.ts";
import type { JobFacts } from "../../shared/vehicle.ts";
import { infoIn, type ServiceAnswer, type BrokenAnswer, type Gap, type Read } from "./read.ts";
import type { Reading } from "./reading.ts";

/** What a series got; its times and then its values stand in `columns`, behind those of the tails before. */
interface Tail {
  readonly channel: string;
  readonly module: string;
  readonly length: number;
  /** Readings of all that it has by now that carry a number. */
  readonly answered: number;
}

/** All but the columns. Lists that only grow come as what is new of them. */
interface Told {
  readonly header: Header | null;
  readonly facts: JobFacts;
  readonly protocol: ProtocolId | null;
  readonly modules: ReadonlyMap<string, ReadonlySet<number>>;
  readonly named: ReadonlyMap<string, ChannelInfo>;
  readonly marks: readonly MarkEvent[];
  readonly gaps: readonly Gap[];
  readonly notices: readonly Notice[];
  readonly answers: readonly ServiceAnswer[];
  readonly broken: readonly BrokenAnswer[];
  readonly links: readonly LinkEvent[];
}

export interface ReadNews {
  readonly lastTime: number;
  readonly tails: readonly Tail[];
  readonly columns: Float64Array<ArrayBuffer>;
  /** Null: only readings came. */
  readonly told: Told | null;
}

const growing = ["notices", "answers", "broken", "links"] as const;

/** What there is to be sent of a reading. */
export class NewsOf {
  readonly #reading: Reading;
  readonly #sent = new Map<Series, number>();
  readonly #lists = { notices: 0, answers: 0, broken: 0, links: 0 };
  #state = "";

  constructor(reading: Reading) {
    this.#reading = reading;
  }

  /** What came since it was asked the last time. */
  next(): ReadNews {
    const reading = this.#reading;
    const grown = reading.channels.all().filter((series) => series.length > (this.#sent.get(series) ?? 0));
    const from = (series: Series): number => this.#sent.get(series) ?? 0;
    const columns = new Float64Array(
      grown.reduce((sum, series) => sum + 2 * (series.length - from(series)), 0),
    );
    let at = 0;
    const tails = grown.map((series): Tail => {
      const { channel, module, answered } = series;
      const length = series.length - from(series);
      columns.set(series.times.subarray(from(series)), at);
      columns.set(series.values.subarray(from(series)), at + length);
      at += 2 * length;
      this.#sent.set(series, series.length);
      return { channel, module, length, answered };
    });
    return { lastTime: reading.lastTime, tails, columns, told: this.#told() };
  }

  #told(): Told | null {
    const reading = this.#reading;
    const state = stateOf(reading);
    if (state === this.#state) return null;
    this.#state = state;
    const { header, facts, protocol, named, marks } = reading;
    const from = { ...this.#lists };
    for (const list of growing) this.#lists[list] = reading[list].length;
    return {
      ...{ header, facts, protocol, named, marks },
      modules: new Map([...reading.modules].map(([module, pids]) => [module, new Set(pids)])),
      gaps: reading.gaps.map((gap) => ({ ...gap })),
      notices: reading.notices.slice(from.notices),
      answers: reading.answers.slice(from.answers),
      broken: reading.broken.slice(from.broken),
      links: reading.links.slice(from.links),
    };
  }
}

/** Another text where anything but readings came. */
function stateOf({ header, counts, notices, answers, broken, modules, channels }: Reading): string {
  const kinds = ["mark", "facts", "link", "defined"].map((kind) => counts.get(kind) ?? 0);
  const pids = [...modules.values()].reduce((sum, { size }) => sum + size, 0);
  const lists = [notices.length, answers.length, broken.length, modules.size, pids, channels.size];
  return `${header !== null} ${kinds.join()} ${lists.join()}`;
}

/** What is seen of a reading on another thread. */
export class ReadCopy implements Read {
  readonly channels = new ChannelStore();
  readonly notices: Notice[] = [];
  readonly answers: ServiceAnswer[] = [];
  readonly broken: BrokenAnswer[] = [];
  readonly links: LinkEvent[] = [];
  #told: Told | null = null;
  #lastTime = 0;

  take({ lastTime, tails, columns, told }: ReadNews): void {
    let at = 0;
    for (const { channel, module, length, answered } of tails) {
      const t = columns.subarray(at, at + length);
      this.channels
        .series(channel, module)
        .extend(t, columns.subarray(at + length, at + 2 * length), answered);
      at += 2 * length;
    }
    this.#lastTime = lastTime;
    if (told === null) return;
    this.#told = told;
    // One by one: a damaged file may tell of more lines than a call takes.
    for (const one of told.notices) this.notices.push(one);
    for (const one of told.answers) this.answers.push(one);
    for (const one of told.broken) this.broken.push(one);
    for (const one of told.links) this.links.push(one);
  }

  get header(): Header | null {
    return this.#told?.header ?? null;
  }

  get facts(): JobFacts {
    return this.#told?.facts ?? {};
  }

  get protocol(): ProtocolId | null {
    return this.#told?.protocol ?? null;
  }

  get modules(): ReadonlyMap<string, ReadonlySet<number>> {
    return this.#told?.modules ?? new Map<string, ReadonlySet<number>>();
  }

  get marks(): readonly MarkEvent[] {
    return this.#told?.marks ?? [];
  }

  get gaps(): readonly Gap[] {
    return this.#told?.gaps ?? [];
  }

  get lastTime(): number {
    return this.#lastTime;
  }

  get invented(): boolean {
    return this.header?.invented ?? false;
  }

  info(channel: string): ChannelInfo {
    return infoIn(this.#told?.named ?? new Map<string, ChannelInfo>(), channel);
  }
}
