/** Renamed ids where a job, or a change to one, refers to the tables. Statements stay as they were said. */
import { isFields, type Fields } from "./forms.ts";
import { currentCheck, currentId, renamed, type Renamed } from "./renamed.ts";

/** The same job, or any part of one, with the ids of today. What is not as it should be is left for its schema. */
export function withCurrentIds(job: Fields, table: Renamed = renamed): Fields {
  if (Object.values(table).every((rows) => Object.keys(rows as Fields).length === 0)) return job;
  const names = new Names(table);
  return {
    ...job,
    ...part(job, "vehicle", (vehicle) => names.vehicle(vehicle)),
    ...part(job, "advice", (advice) => names.advice(advice)),
    ...items(job, "clips", (clip) => names.clip(clip)),
    ...items(job, "checks", (check) => names.handCheck(check)),
    ...items(job, "causes", (cause) => names.one(cause, "cause", "causes")),
    ...logItems(job, names),
  };
}

/** The vehicle facts with the channels of today in their ranges. */
export function factsWithCurrentIds(vehicle: Fields, table: Renamed = renamed): Fields {
  return new Names(table).vehicle(vehicle);
}

type Kind = Exclude<keyof Renamed, "checks">;

class Names {
  readonly #table: Renamed;

  constructor(table: Renamed) {
    this.#table = table;
  }

  one(fields: Fields, field: string, kind: Kind): Fields {
    const id = fields[field];
    return typeof id === "string" ? { ...fields, [field]: currentId(kind, id, this.#table) } : fields;
  }

  vehicle(fields: Fields): Fields {
    const { ranges } = fields;
    if (!Array.isArray(ranges)) return fields;
    const current = ranges.map((range: unknown) =>
      isFields(range) ? this.one(range, "of", "channels") : range,
    );
    return { ...fields, ranges: current };
  }

  advice(fields: Fields): Fields {
    const { next } = fields;
    return {
      ...fields,
      ...this.#list(fields, "complaints", (id) => currentId("complaints", id, this.#table)),
      ...this.#list(fields, "order", (id) => currentId("causes", id, this.#table)),
      ...this.#list(fields, "declined", (id) => this.#check(id)),
      ...(typeof next === "string" ? { next: this.#check(next) } : {}),
    };
  }

  clip(fields: Fields): Fields {
    const { lanes } = fields;
    if (!Array.isArray(lanes)) return fields;
    const channel = (id: unknown): unknown =>
      typeof id === "string" ? currentId("channels", id, this.#table) : id;
    const current = lanes.map((lane: unknown) => (Array.isArray(lane) ? lane.map(channel) : lane));
    return { ...fields, lanes: current };
  }

  handCheck(fields: Fields): Fields {
    const { check } = fields;
    return typeof check === "string" ? { ...fields, ...this.answer(check, fields) } : fields;
  }

  /** The check, and its outcome where these fields have one. */
  answer(check: string, { outcome }: Fields): Fields {
    if (typeof outcome !== "string") return { check: this.#check(check) };
    return { ...currentCheck({ check, outcome }, this.#table) };
  }

  #check(check: string): string {
    return currentCheck({ check }, this.#table).check;
  }

  /** Two that became one stand once, where the first of them stood. */
  #list(fields: Fields, field: string, name: (id: string) => string): Fields {
    const list: unknown = fields[field];
    if (!Array.isArray(list)) return {};
    const current = list.map((id: unknown) => (typeof id === "string" ? name(id) : id));
    return { [field]: [...new Set(current)] };
  }
}

/** The log: a correction bears an outcome of the check that the entry before it names. */
function logItems(job: Fields, names: Names): Fields {
  const { log } = job;
  if (!isFields(log)) return {};
  const entries = Object.values(log).map((item) => (isFields(item) ? item["entry"] : undefined));
  const checkOf = (id: unknown): unknown =>
    entries.find((entry): entry is Fields => isFields(entry) && entry["id"] === id)?.["check"];
  return items(job, "log", (item) => ({
    ...item,
    ...part(item, "entry", (entry) => {
      if (entry["k"] === "act") return names.one(entry, "cause", "causes");
      const check = entry["k"] === "correct" ? checkOf(entry["of"]) : entry["check"];
      if (typeof check !== "string") return entry;
      const current = names.answer(check, entry);
      return { ...entry, ...(entry["k"] === "correct" ? outcomeAlone(current) : current) };
    }),
  }));
}

function outcomeAlone({ outcome }: Fields): Fields {
  return outcome === undefined ? {} : { outcome };
}

function part(fields: Fields, name: string, change: (part: Fields) => Fields): Fields {
  const value = fields[name];
  return isFields(value) ? { [name]: change(value) } : {};
}

function items(job: Fields, list: string, change: (item: Fields) => Fields): Fields {
  return part(job, list, (all) =>
    Object.fromEntries(Object.entries(all).map(([id, item]) => [id, isFields(item) ? change(item) : item])),
  );
}
