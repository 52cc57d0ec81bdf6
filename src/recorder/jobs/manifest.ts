/** What a bundle says of itself: `manifest.json`, version 1. */
import { z } from "zod/mini";
import { CranksideError } from "../../../shared/errors.ts";
import { jobId } from "../../sheet/job.ts";

export const bundleFormat = "crankside-bundle";
export const bundleVersion = 1;

const file = z.object({
  name: z.string().check(z.maxLength(300)),
  bytes: z.int().check(z.gte(0)),
  sha256: z.string().check(z.regex(/^[0-9a-f]{64}$/)),
});

const manifestSchema = z.object({
  format: z.literal(bundleFormat),
  version: z.literal(bundleVersion),
  job: jobId,
  made: z.string(),
  writer: z.string(),
  /** What was left out or hidden, in words. */
  about: z.array(z.string()),
  files: z.array(file).check(z.maxLength(5000)),
});
export type Manifest = z.infer<typeof manifestSchema>;

/** The only names that a bundle may hold beside its manifest. */
const allowed = [
  /^job\.json$/,
  /^note\.html$/,
  /^recordings\/[A-Za-z0-9_][A-Za-z0-9._ ()+@=-]{0,199}\.ndjson(?:\.gz)?$/,
  /^photos\/[0-9a-f]{16}\.(?:jpg|png|webp)$/,
  /^clips\/clip-\d{1,4}(?:-before|-after)?\.csv$/,
];

export function isAllowedName(name: string): boolean {
  return allowed.some((pattern) => pattern.test(name));
}

/** Throws `bundle-invalid` or `newer-format`. */
export function readManifest(text: string, where: string): Manifest {
  const wrong = (found: string, cause?: unknown): CranksideError =>
    new CranksideError(
      "bundle-invalid",
      "not a bundle",
      { expected: "a manifest of one", found, where },
      cause,
    );
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw wrong("no JSON", error);
  }
  const fields = typeof value === "object" && value !== null ? (value as Record<string, unknown>) : {};
  const { format, version } = fields;
  if (format === bundleFormat && typeof version === "number" && version > bundleVersion) {
    throw new CranksideError("newer-format", "the bundle is of a newer format", {
      expected: `version ${bundleVersion} or lower`,
      found: `version ${version}`,
      where,
    });
  }
  const result = manifestSchema.safeParse(value);
  if (!result.success) throw wrong(`something else in ${result.error.issues[0]?.path.join(".") ?? "it"}`);
  return result.data;
}
