import { z } from "zod/mini";

/**
 * What a page and the server say to each other about an adapter that the browser reaches: texts of JSON, validated on
 * receipt on both sides. Bytes go between them as binary frames: the number of the opening in the first byte, then
 * what was sent or heard. The number tells late bytes of an earlier opening from those of this one.
 */

/** How a browser reaches an adapter: Bluetooth Low Energy, or a serial port that the person let it have. */
export const carriedWays = ["ble", "serial"] as const;
export type CarriedWay = (typeof carriedWays)[number];

const opening = z.number().check(z.int(), z.gte(0), z.lte(255));
const words = z.string().check(z.maxLength(500));

export const carrierMessageSchema = z.discriminatedUnion("type", [
  /** The first one: this page has such a device. */
  z.object({ type: z.literal("here"), way: z.enum(carriedWays), device: words }),
  z.object({ type: z.literal("opened"), n: opening }),
  z.object({ type: z.literal("failed"), n: opening, why: words }),
  /** The device took so many more of the bytes that it was sent. */
  z.object({ type: z.literal("took"), n: opening, bytes: z.number().check(z.int(), z.gte(0)) }),
  z.object({ type: z.literal("lost"), n: opening, why: words }),
]);
export type CarrierMessage = z.infer<typeof carrierMessageSchema>;

export const carrierOrderSchema = z.discriminatedUnion("type", [
  /** Opens the device anew; what was open before is closed first. `baud` is for a serial port. */
  z.object({ type: z.literal("open"), n: opening, baud: z.number().check(z.int(), z.gt(0)) }),
  z.object({ type: z.literal("close"), n: opening }),
]);
export type CarrierOrder = z.infer<typeof carrierOrderSchema>;

/** A binary frame of one opening. */
export function carriedFrame(n: number, bytes: Uint8Array): Uint8Array<ArrayBuffer> {
  const frame = new Uint8Array(bytes.length + 1);
  frame[0] = n;
  frame.set(bytes, 1);
  return frame;
}

/** Why the server ended a carrier's socket: the WebSocket protocol leaves 4000 to 4999 to programs (RFC 6455, 7.4.2). */
export const carryClosings = { notOurs: 4000, taken: 4001 } as const;
