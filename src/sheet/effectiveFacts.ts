/**
 * Complaint and vehicle have one owner each time they are used. A recording says what was known when it was made; a job
 * has facts of its own, which go before those of its recordings while it is open. What comes of the two is what the
 * interpreter is told, and what the sheet shows. Pure.
 */
import { factsWithCurrentIds } from "../../shared/stored/jobIds.ts";
import type { JobFacts, VehicleFacts } from "../../shared/vehicle.ts";
import { inOrder, type JobDocument } from "./job.ts";

export type FactOwner = "job" | "recording";
export type FactName = keyof VehicleFacts | "complaint";

export interface EffectiveFacts {
  readonly facts: JobFacts & { readonly vehicle: VehicleFacts };
  /** Whose word each fact is that is known at all. */
  readonly from: Readonly<Partial<Record<FactName, FactOwner>>>;
  /** Who takes what a person corrects. */
  readonly owner: FactOwner;
}

/** The facts by which a recording is read: the open job's, and where it says nothing, those of the recording. */
export function effectiveFacts(recorded: JobFacts, job: JobDocument | null, file: string): EffectiveFacts {
  if (job === null || isOfAnother(recorded, job, file)) {
    const { complaint, vehicle = {} } = recorded;
    return {
      facts: { ...(blank(complaint) ? {} : { complaint }), vehicle: ofToday(vehicle) },
      from: { ...(blank(complaint) ? {} : { complaint: "recording" }), ...owned(vehicle, "recording") },
      owner: "recording",
    };
  }
  const said = jobFacts(job);
  const open = job.unsaid ?? {};
  const rest = Object.fromEntries(
    Object.entries(recorded.vehicle ?? {}).filter(([name]) => open[name] !== true),
  );
  const complaint = said.complaint ?? recorded.complaint;
  return {
    facts: {
      ...(blank(complaint) ? {} : { complaint }),
      vehicle: ofToday({ ...rest, ...said.vehicle }),
    },
    from: {
      ...(blank(complaint) ? {} : { complaint: said.complaint === undefined ? "recording" : "job" }),
      ...owned(rest, "recording"),
      ...owned(said.vehicle, "job"),
    },
    owner: "job",
  };
}

/** What the job itself says. A complaint that was typed and wiped out again says that there is none. */
export function jobFacts({ vehicle, texts: { complaint } }: JobDocument): JobFacts & {
  readonly vehicle: VehicleFacts;
} {
  return { vehicle, ...(complaint === undefined ? {} : { complaint }) };
}

/** A recording that is not on the sheet, and whose vehicle has another VIN. */
function isOfAnother(recorded: JobFacts, job: JobDocument, file: string): boolean {
  if (inOrder(job.recordings).some(({ tie }) => tie.file === file)) return false;
  const [own, other] = [job.vehicle.vin, recorded.vehicle?.vin].map((vin) => vin?.trim().toUpperCase());
  return whole(own) && whole(other) && own !== other;
}

/** Seventeen signs (ISO 3779), none of which is open. */
function whole(vin: string | undefined): boolean {
  return vin !== undefined && /^[A-Z0-9]{17}$/.test(vin);
}

function owned(vehicle: VehicleFacts, owner: FactOwner): Partial<Record<FactName, FactOwner>> {
  const known = Object.entries(vehicle).filter(([, value]) => value !== undefined);
  return Object.fromEntries(known.map(([name]) => [name, owner]));
}

function ofToday(vehicle: VehicleFacts): VehicleFacts {
  return factsWithCurrentIds(vehicle);
}

function blank(text: string | undefined): text is undefined {
  return text === undefined || text.trim() === "";
}
