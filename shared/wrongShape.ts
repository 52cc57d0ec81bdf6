/** What is wrong with a value that does not fit its schema, in words: what was expected, what was found, and where. */
import type { z } from "zod/mini";
import { CranksideError, type ErrorCode } from "./errors.ts";

export interface WrongShape {
  readonly expected: string;
  readonly found: string;
  readonly where: string;
}

type Issue = z.core.$ZodIssue;

const types: Readonly<Record<string, string>> = {
  string: "a text",
  number: "a number",
  int: "a whole number",
  boolean: "true or false",
  array: "a list",
  object: "an object with fields",
  record: "an object with fields",
  null: "null",
  undefined: "nothing",
};

const top = "the top";
const shortest = 1;
const longestFound = 80;

/** `value` is what was checked; `whole` says in words what it should be, where an issue names nothing better. */
export function wrongShape(issues: readonly Issue[], value: unknown, whole: string): WrongShape {
  const [issue] = issues;
  if (issue === undefined) return { expected: whole, found: words(value), where: top };
  // The branch that the value fits best says most; of equals the one that it came furthest in.
  if (issue.code === "invalid_union" && issue.errors.length > 0) {
    const depth = (branch: readonly Issue[]): number => Math.max(...branch.map((e) => e.path.length));
    const [closest = []] = issue.errors.toSorted((a, b) => a.length - b.length || depth(b) - depth(a));
    const [deepest] = closest.toSorted((a, b) => b.path.length - a.path.length || score(b) - score(a));
    const kinds = [
      ...new Set(
        issue.errors
          .flat()
          .filter((e) => e.path.length === 0)
          .map(expectedOf),
      ),
    ];
    if (deepest !== undefined && deepest.path.length > 0)
      return wrongShape([{ ...deepest, path: [...issue.path, ...deepest.path] }], value, whole);
    return { expected: kinds.join(", or "), found: words(at(value, issue.path)), where: place(issue) };
  }
  const found = issue.code === "unrecognized_keys" ? issue.keys.join(", ") : words(at(value, issue.path));
  return { expected: expectedOf(issue), found, where: place(issue) };
}

/** The same as an error, with the place in `where`; what is wrong with the whole of it is told by `where` alone. */
export function notInShape(
  code: ErrorCode,
  message: string,
  { issues, value, whole, where }: { issues: readonly Issue[]; value: unknown; whole: string; where: string },
): CranksideError {
  const wrong = wrongShape(issues, value, whole);
  return new CranksideError(code, message, {
    ...wrong,
    where: wrong.where === top ? where : `${where}, ${wrong.where}`,
  });
}

const score = (issue: Issue): number => (issue.code === "invalid_type" ? 0 : 1);

const place = ({ path }: Issue): string => (path.length === 0 ? top : path.map(String).join("."));

function expectedOf(issue: Issue): string {
  switch (issue.code) {
    case "invalid_type":
      return types[issue.expected] ?? issue.expected;
    case "invalid_value":
      return oneOf(issue.values);
    case "invalid_union":
      return "options" in issue && Array.isArray(issue.options)
        ? oneOf(issue.options)
        : "another kind of value";
    case "unrecognized_keys":
      return "only fields that are known there";
    case "too_big":
      return `at most ${size(Number(issue.maximum), issue.origin)}`;
    case "too_small":
      return `at least ${size(Number(issue.minimum), issue.origin)}`;
    case "invalid_format":
      return issue.format === "regex"
        ? `a text like ${issue.pattern ?? "it should be"}`
        : `a text: ${issue.format}`;
    case "not_multiple_of":
      return `a multiple of ${issue.divisor}`;
    case "invalid_key":
    case "invalid_element":
      return "another name for the field";
    default:
      return issue.message === "Invalid input" ? "another value" : issue.message;
  }
}

function oneOf(values: readonly unknown[]): string {
  const texts = values.map((v) => (typeof v === "string" ? v : JSON.stringify(v)));
  return texts.length === shortest ? texts.join("") : `one of ${texts.join(", ")}`;
}

function size(n: number, origin: string): string {
  const things = origin === "string" ? "character" : origin === "array" || origin === "set" ? "entry" : "";
  if (things === "") return String(n);
  if (n === 1) return `1 ${things}`;
  return `${n} ${things === "entry" ? "entries" : `${things}s`}`;
}

function at(value: unknown, path: readonly PropertyKey[]): unknown {
  let found = value;
  for (const name of path) {
    if (typeof found !== "object" || found === null) return undefined;
    found = (found as Readonly<Record<PropertyKey, unknown>>)[name];
  }
  return found;
}

function words(value: unknown): string {
  if (value === undefined) return "nothing";
  // Functions and symbols have no text.
  const text = (JSON.stringify(value) as string | undefined) ?? typeof value;
  return text.length <= longestFound ? text : `${text.slice(0, longestFound)}…`;
}
