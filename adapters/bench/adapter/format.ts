/** Frames as the adapter prints them. */
import type { WireFrame } from "../bus/frames.ts";

export interface PrintSettings {
  readonly headers: boolean;
  readonly spaces: boolean;
  /** Print the padding of CAN frames too when headers are on. */
  readonly showPadding: boolean;
}

/** Each byte in two digits: they are asked for with every byte that is printed. */
const hexOf = Array.from({ length: 256 }, (_, byte) => byte.toString(16).toUpperCase().padStart(2, "0"));
const hex = (byte: number): string => hexOf[byte] ?? "";

/** With spaces on every byte is followed by one, the last too. */
function bytes(list: readonly number[], spaces: boolean): string {
  return list.map((b) => (spaces ? `${hex(b)} ` : hex(b))).join("");
}

/** The lines one frame becomes. */
export function printed(frame: WireFrame, s: PrintSettings): string[] {
  if (frame.id === undefined) {
    const all = s.headers ? [...frame.header, ...frame.data, ...frame.check] : frame.data;
    return [bytes(all, s.spaces)];
  }
  if (s.headers) {
    const data = s.showPadding ? frame.data : frame.data.slice(0, frame.used);
    return [canHeader(frame.id, frame.idBits === 29, s.spaces) + bytes(data, s.spaces)];
  }
  const kind = (frame.data[0] ?? 0) >> 4;
  if (kind === 1) {
    const length = (((frame.data[0] ?? 0) & 15) << 8) | (frame.data[1] ?? 0);
    const first = `0:${s.spaces ? " " : ""}${bytes(frame.data.slice(2), s.spaces)}`;
    return [length.toString(16).toUpperCase().padStart(3, "0"), first];
  }
  if (kind === 2) {
    const n = ((frame.data[0] ?? 0) & 15).toString(16).toUpperCase();
    return [`${n}:${s.spaces ? " " : ""}${bytes(frame.data.slice(1), s.spaces)}`];
  }
  return [bytes(frame.data.slice(1, frame.used), s.spaces)];
}

function canHeader(id: number, long: boolean, spaces: boolean): string {
  if (!long) return id.toString(16).toUpperCase().padStart(3, "0") + (spaces ? " " : "");
  return bytes([(id >>> 24) & 255, (id >>> 16) & 255, (id >>> 8) & 255, id & 255], spaces);
}
