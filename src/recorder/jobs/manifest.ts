/** What a bundle says of itself: `manifest.json`, version 1. */
import { z } from "zod/mini";
import { CranksideError } from "../../../shared/errors.ts";
import { forms, migrated, versionOf } from "../../../shared/stored/forms.ts";
import { jobId } from "../../sheet/job.ts";
import { notInShape } from "../../../shared/wrongShape.ts";

export const bundleFormat = forms.bundle.format;
export const bundleVersion = versionOf(forms.bundle);

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
  const today = migrated(forms.bundle, value, where);
  const result = manifestSchema.safeParse(today);
  if (result.success) return result.data;
  const { issues } = result.error;
  throw notInShape("bundle-invalid", "not a bundle", {
    issues,
    value: today,
    whole: "a manifest of one",
    where,
  });
}
