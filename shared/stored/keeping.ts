import { z } from "zod/mini";

/**
 * A shape that keeps the fields it does not know: what a later version wrote is still there when this one saves. Its
 * type is that of the known fields alone, so that nobody reads the others by accident.
 */
export function keeping<T extends z.core.$ZodLooseShape>(shape: T): z.ZodMiniObject<T> {
  return z.looseObject(shape);
}
