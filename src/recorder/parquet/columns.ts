/** The columns of both tables, as recordings/PARQUET.md describes them. */
import type { SchemaElement } from "hyparquet-writer";

/** Raised when a column is renamed, taken away, or means something else; a new column does not raise it. */
export const tablesVersion = 1;

export interface Column {
  readonly name: string;
  readonly type: "text" | "whole" | "micros" | "time" | "number";
  readonly nullable: boolean;
}

const column = (name: string, type: Column["type"], nullable = true): Column => ({ name, type, nullable });

export const readingColumns = [
  column("recording", "text", false),
  column("module", "text"),
  column("channel", "text", false),
  column("t", "micros", false),
  column("time", "time", false),
  column("zone", "text", false),
  column("value", "number"),
  column("unit", "text", false),
  column("words", "text"),
  column("regime", "text"),
] as const;

export const eventColumns = [
  column("recording", "text"),
  column("job", "text"),
  column("kind", "text", false),
  column("about", "text"),
  column("n", "whole"),
  column("t", "micros"),
  column("until", "micros"),
  column("time", "time"),
  column("zone", "text"),
  column("verdict", "text"),
  column("side", "text"),
  column("module", "text"),
  column("bank", "whole"),
  column("cylinder", "whole"),
  column("value", "number"),
  column("unit", "text"),
  column("low", "number"),
  column("high", "number"),
  column("samples", "whole"),
  column("words", "text"),
] as const;

/** As the format's own description calls it (Apache Parquet, parquet.thrift). */
export function schemaOf(columns: readonly Column[]): SchemaElement[] {
  return [
    { name: "root", num_children: columns.length },
    ...columns.map(({ name, type, nullable }): SchemaElement => {
      const repetition_type = nullable ? "OPTIONAL" : "REQUIRED";
      switch (type) {
        case "text":
          return { name, type: "BYTE_ARRAY", converted_type: "UTF8", repetition_type };
        case "whole":
          return { name, type: "INT32", repetition_type };
        case "micros":
          return { name, type: "INT64", repetition_type };
        case "time":
          return { name, type: "INT64", converted_type: "TIMESTAMP_MICROS", repetition_type };
        case "number":
          return { name, type: "DOUBLE", repetition_type };
      }
    }),
  ];
}
