import { CranksideError } from "../../../../shared/errors.ts";

/** Bytes that are read into the same memory again and again: memory that is new costs more than the reading. */
const roomBytes = 256 * 1024;

export interface Body {
  /** Piece by piece, and null at the end; a piece lasts until the next one is asked for. */
  readonly next: () => Promise<Uint8Array | null>;
  /** Bytes that will come, where the service says so. */
  readonly length: number | null;
  /** The rest is not wanted. */
  readonly leave: () => Promise<void>;
}

/** The bytes behind an address. Rejects with `file-unreadable` and what the service says. */
export async function bodyOf(url: string, signal?: AbortSignal): Promise<Body> {
  const response = await fetch(url, { cache: "no-store", signal: signal ?? null });
  if (!response.ok || response.body === null)
    throw new CranksideError("file-unreadable", (await response.text()).trim() || "no answer", {
      where: url,
    });
  const length = response.headers.get("content-length");
  return { length: length === null ? null : Number(length), ...piecesOf(response.body) };
}

function piecesOf(body: ReadableStream<Uint8Array<ArrayBuffer>>): Pick<Body, "next" | "leave"> {
  const reader = ownRoomReader(body);
  if (reader === null) {
    const plain = body.getReader();
    return { next: async () => (await plain.read()).value ?? null, leave: () => plain.cancel() };
  }
  let room = new ArrayBuffer(roomBytes);
  return {
    next: async () => {
      const { done, value } = await reader.read(new Uint8Array(room));
      if (value !== undefined) room = value.buffer;
      return done ? null : value;
    },
    leave: () => reader.cancel(),
  };
}

/** Not every browser hands out an answer this way. */
function ownRoomReader(body: ReadableStream): ReadableStreamBYOBReader | null {
  try {
    return body.getReader({ mode: "byob" });
  } catch {
    return null;
  }
}
