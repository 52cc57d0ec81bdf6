/** The freeze frame: values of the moment when the first code was stored. */
import { encode, type Answering } from "./encode.ts";

export interface FreezeFrame {
  readonly code: number;
  /** Data bytes by parameter. */
  readonly values: ReadonlyMap<number, readonly number[]>;
}

/** Parameters a frame keeps where the module has them (13 CCR 1968.2 lists the like; from memory). */
const kept = [
  0x03, 0x04, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0b, 0x0c, 0x0d, 0x0e, 0x0f, 0x10, 0x11, 0x1f, 0x23, 0x42,
];

export function freezeFrame(code: number, from: Answering): FreezeFrame {
  const pids = from.vehicle.modules.find((m) => m.role === "engine")?.pids ?? [];
  const values = new Map<number, readonly number[]>();
  for (const pid of kept) {
    const bytes = pids.includes(pid) ? encode(pid, from) : null;
    if (bytes !== null) values.set(pid, bytes);
  }
  return { code, values };
}
