import type { SettingsState } from "../app/settings.svelte.ts";
import { meetVehicle } from "../app/vehicleLanes.ts";
import type { Ask, Server } from "../connection/server.svelte.ts";
import { askedChannels, withPin } from "../recording/askedChannels.ts";
import type { Shown } from "../recording/shown.ts";
import {
  lanesFor,
  lanesOf,
  lanesText,
  lanesWithin,
  readableChannels,
  usualLanes,
  type LaneSet,
} from "./lanes.ts";

/** What lanes need of the page. */
export interface LanesPage {
  readonly settings: SettingsState;
  readonly server: Server;
  readonly shown: Shown | null;
  readonly live: Shown | null;
}

/** The lanes of the chart; while live, what they show is also asked of the vehicle. */
export class ChartLanes {
  readonly #page: LanesPage;
  readonly #ask: (ask: Ask) => Promise<void>;
  /** Lanes that a sign asked for are on the chart for as long as it is looked at. */
  #lent = $state(false);
  /** What the person had arranged before those; null for the usual lanes. */
  #before: LaneSet | null = null;
  /** As text, so that the lanes stay the same objects while their channels do. */
  readonly #text: string = $derived.by(() => {
    const own = this.#page.settings.current.lanes;
    const possible = own === null ? [] : lanesWithin(own, this.possible);
    return lanesText(possible.length > 0 ? possible : this.#usual());
  });
  readonly #now: LaneSet = $derived(lanesOf(this.#text));

  constructor(page: LanesPage, ask: (ask: Ask) => Promise<void>) {
    this.#page = page;
    this.#ask = ask;
  }

  get now(): LaneSet {
    return this.#now;
  }

  get lent(): boolean {
    return this.#lent;
  }

  /** Channels that can stand in a lane: all that were read, and while live all that could be. */
  get possible(): string[] {
    const { shown, server } = this.#page;
    if (shown === null) return [];
    const read = shown.recording.calm.reading.channels.channels;
    return this.#live ? readableChannels(read, server.status.modules) : read;
  }

  /** Own lanes, or null for the usual ones. */
  arrange = (lanes: LaneSet | null): Promise<void> => this.#wish({ lanes });

  /** The channel is asked more often, or as often as the others again. */
  pin = (entry: string): Promise<void> =>
    this.#wish({ pinned: withPin(this.#page.settings.current.pinned, entry) });

  /** Shows these channels too; the lanes that were there can be had back. */
  lend(channels: readonly string[]): void {
    const there = this.#now.flat();
    const wanted = channels.filter((channel) => this.possible.includes(channel));
    if (wanted.every((channel) => there.includes(channel))) return;
    if (!this.#lent) this.#before = this.#page.settings.current.lanes;
    this.#lent = true;
    void this.arrange(lanesFor(wanted, this.#now));
  }

  back = (): void => {
    this.#lent = false;
    void this.arrange(this.#before);
  };

  /** A vehicle is met: its own lanes are asked for. */
  meet(): void {
    const { settings, server } = this.#page;
    if (meetVehicle(settings, server.status.modules)) void this.#askForThem();
  }

  get #live(): boolean {
    const { shown, live } = this.#page;
    return live !== null && shown === live;
  }

  async #wish(wish: Parameters<SettingsState["change"]>[0]): Promise<void> {
    this.#page.settings.change(wish);
    if (this.#live) await this.#askForThem();
  }

  #askForThem(): Promise<void> {
    return this.#ask({ type: "channels", ...askedChannels(this.#page.settings.current, this.possible) });
  }

  #usual(): LaneSet {
    const { shown, server } = this.#page;
    if (shown === null) return [];
    const { channels } = shown.recording.calm.reading;
    const answered = channels.channels.filter((channel) => (channels.find(channel)?.answered ?? 0) > 0);
    return usualLanes([...answered, ...(this.#live ? server.status.channels : [])]);
  }
}
