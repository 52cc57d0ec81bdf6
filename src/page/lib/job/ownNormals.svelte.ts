import { z } from "zod/mini";
import type { LearnRequest } from "../../../../shared/normalMessages.ts";
import type { VehicleFacts } from "../../../../shared/vehicle.ts";
import { normalSchema, type Normal } from "../../../interpret/normal/learn.ts";
import { askedFor, toldAt } from "../app/leave.ts";
import type { Settings } from "../app/settings.ts";

const keptSchema = z.object({ id: z.string(), normal: normalSchema });
const listSchema = z.object({ normals: z.array(keptSchema) });

export interface KeptNormal {
  readonly id: string;
  readonly normal: Normal;
}

/** Which vehicle it is, as far as anybody said: the VIN, else its name, else the one recording. */
export function vehicleKey({ vin = "", name = "" }: VehicleFacts, file: string): string {
  const said = vin.trim() === "" ? name.trim() : vin.trim();
  return (said === "" ? file : said).toLowerCase().slice(0, 300);
}

interface Chosen {
  readonly current: Pick<Settings, "normals">;
  change(part: Pick<Settings, "normals">): void;
}

/** What was learned of vehicles, and which of it is used for which. */
export class OwnNormals {
  readonly #place: string;
  readonly #settings: Chosen;
  #kept: readonly KeptNormal[] = $state.raw([]);

  constructor(place: string, settings: Chosen) {
    this.#place = place;
    this.#settings = settings;
    void this.#look();
  }

  get kept(): readonly KeptNormal[] {
    return this.#kept;
  }

  /** What is used for this vehicle; undefined: the trade's ranges alone. */
  of(vehicle: VehicleFacts, file: string): Normal | undefined {
    return this.used(vehicle, file)?.normal;
  }

  used(vehicle: VehicleFacts, file: string): KeptNormal | undefined {
    const id = this.#settings.current.normals[vehicleKey(vehicle, file)];
    return id === undefined ? undefined : this.#kept.find((one) => one.id === id);
  }

  /** null: none is used for this vehicle any more. */
  use(vehicle: VehicleFacts, file: string, id: string | null): void {
    const key = vehicleKey(vehicle, file);
    const others = Object.entries(this.#settings.current.normals).filter(([of]) => of !== key);
    this.#settings.change({ normals: Object.fromEntries(id === null ? others : [...others, [key, id]]) });
  }

  /** Where the file of one is handed out. */
  href(id: string): string {
    return `${this.#place}/${encodeURIComponent(id)}`;
  }

  /** Rejects with the reason where nothing is learned. */
  learn(request: LearnRequest): Promise<KeptNormal> {
    return this.#sent(`${this.#place}/learn`, JSON.stringify(request));
  }

  take(file: File): Promise<KeptNormal> {
    return this.#sent(`${this.#place}?name=${encodeURIComponent(file.name)}`, file);
  }

  async #sent(url: string, body: BodyInit): Promise<KeptNormal> {
    const response = await askedFor(url, { method: "POST", body });
    const kept = keptSchema.parse(await response.json());
    this.#kept = [...this.#kept, kept];
    return kept;
  }

  /** A page that came over the network is not told: the trade's ranges are as good there. */
  async #look(): Promise<void> {
    const told = await toldAt(this.#place, listSchema);
    if (told !== null) this.#kept = told.normals;
  }
}
