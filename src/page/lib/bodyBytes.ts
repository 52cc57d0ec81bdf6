/** Bytes that are read into the same memory again and again: memory that is new costs more than the reading. */
const roomBytes = 256 * 1024;

/** The bytes of an answer, piece by piece, and null at its end; a piece lasts until the next one is asked for. */
export function bytesOf(body: ReadableStream<Uint8Array<ArrayBuffer>>): () => Promise<Uint8Array | null> {
  const reader = ownRoomReader(body);
  if (reader === null) {
    const plain = body.getReader();
    return async () => (await plain.read()).value ?? null;
  }
  let room = new ArrayBuffer(roomBytes);
  return async () => {
    const { done, value } = await reader.read(new Uint8Array(room));
    if (value !== undefined) room = value.buffer;
    return done ? null : value;
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
