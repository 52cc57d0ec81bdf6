/** Ids that 0.1.0 stored, and names that it printed for machines: known today, or renamed in the place for it. */
import { expect, test } from "vitest";
import { z } from "zod/mini";
import { channels } from "../../shared/decode.ts";
import { currentCheck, currentId, renamed, withdrawn } from "../../shared/stored/renamed.ts";
import { adviceSchema } from "../../src/interpret/causes/adviceSchema.ts";
import { beforeAfterSchema } from "../../src/interpret/causes/beforeAfterSchema.ts";
import { causeRow, checkRow } from "../../src/interpret/causes/rows.ts";
import { complaints } from "../../src/interpret/causes/types.ts";
import { findingsSchema } from "../../src/interpret/report/schema.ts";
import { signRows } from "../../src/interpret/tables/signs.ts";
import { archivedJson } from "./support.ts";

interface Ids {
  readonly complaints: readonly string[];
  readonly causes: readonly string[];
  readonly checks: Readonly<Record<string, readonly string[]>>;
  readonly signs: readonly string[];
  readonly channels: readonly string[];
}
const ids = archivedJson("ids.json") as Ids;

const today: Readonly<Record<"complaints" | "causes" | "signs" | "channels", (id: string) => boolean>> = {
  complaints: (id) => (complaints as readonly string[]).includes(id),
  causes: (id) => causeRow(id) !== undefined,
  signs: (id) => Object.hasOwn(signRows, id),
  channels: (id) => channels.some((c) => c.channel === id),
};

test.each(["complaints", "causes", "signs", "channels"] as const)(
  "each of the %s of 0.1.0 is there, renamed, or withdrawn with its reason",
  (kind) => {
    const unknown = ids[kind].filter(
      (id) => !today[kind](currentId(kind, id)) && !Object.hasOwn(withdrawn[kind], currentId(kind, id)),
    );
    expect(unknown).toEqual([]);
    // A name that was given up is not given to something else.
    expect(Object.keys(renamed[kind]).filter(today[kind])).toEqual([]);
  },
);

test("each hand check of 0.1.0 is there with each of its outcomes, renamed, or withdrawn with its reason", () => {
  const unknown = Object.entries(ids.checks).flatMap(([check, outcomes]) =>
    outcomes.flatMap((outcome) => {
      const now = currentCheck({ check, outcome });
      if (Object.hasOwn(withdrawn.checks, now.check)) return [];
      const known = checkRow(now.check)?.outcomes.some((o) => o.id === now.outcome) === true;
      return known ? [] : [`${check}: ${outcome}`];
    }),
  );
  expect(unknown).toEqual([]);
});

interface Schema {
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly items?: Schema;
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
  readonly prefixItems?: readonly Schema[];
}

function fieldsIn(schema: Schema, at = ""): string[] {
  const { properties = {}, items, anyOf = [], oneOf = [], prefixItems = [] } = schema;
  return [
    ...Object.entries(properties).flatMap(([name, one]) => [
      `${at}.${name}`,
      ...fieldsIn(one, `${at}.${name}`),
    ]),
    ...(items === undefined ? [] : fieldsIn(items, `${at}[]`)),
    ...[...anyOf, ...oneOf, ...prefixItems].flatMap((one) => fieldsIn(one, at)),
  ];
}

const printed = archivedJson("printed.json") as Readonly<Record<string, readonly string[]>>;

test.each([
  ["findings", findingsSchema],
  ["advice", adviceSchema],
  ["beforeAfter", beforeAfterSchema],
] as const)("every field of %s that 0.1.0 printed as JSON has its name still", (name, schema) => {
  const now = new Set(fieldsIn(z.toJSONSchema(schema) as Schema));
  expect((printed[name] ?? []).filter((field) => !now.has(field))).toEqual([]);
});
