import { z } from "zod/mini";
import { usedSchema, type LearnRequest, type UseRequest } from "../../../../shared/normalMessages.ts";
import { vehicleKey, type VehicleFacts } from "../../../../shared/vehicle.ts";
import { normalSchema, type Normal } from "../../../interpret/normal/learn.ts";
import { askedFor, toldAt } from "../app/leave.ts";
import type { Settings } from "../app/settings.ts";

const keptSchema = z.object({ id: z.string(), normal: normalSchema });
const useSchema = z.object({ used: usedSchema });
/** `used` null: nobody told the program yet. */
const listSchema = z.object({ normals: z.array(keptSchema), used: z.nullable(usedSchema) });

export interface KeptNormal {
  readonly id: string;
  readonly normal: Normal;
}

interface Chosen {
  readonly current: Pick<Settings, "normals">;
  change(part: Pick<Settings, "normals">): void;
}

/**
 * What was learned of vehicles, and which of it is used for which. The program knows it too, since it judges recordings
 * for its indexes; the settings are this browser's copy.
 */
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

  /** null: none is used for this vehicle any more. Rejects where the program does not take it; nothing changed then. */
  async use(vehicle: VehicleFacts, file: string, id: string | null): Promise<void> {
    const asked: UseRequest = { vehicle: vehicleKey(vehicle, file), id };
    const response = await askedFor(`${this.#place}/use`, { method: "POST", body: JSON.stringify(asked) });
    this.#settings.change({ normals: useSchema.parse(await response.json()).used });
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
    if (told === null) return;
    this.#kept = told.normals;
    if (told.used !== null) {
      this.#settings.change({ normals: told.used });
      return;
    }
    // Chosen when browsers alone knew it. What the program does not take now, it is told when the page is opened next.
    const chosen = Object.entries(this.#settings.current.normals);
    for (const [vehicle, id] of chosen.filter(([, of]) => told.normals.some((one) => one.id === of)))
      await this.use({ name: vehicle }, "", id).catch(() => undefined);
  }
}
