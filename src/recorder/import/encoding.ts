import type { LogLook } from "../../../shared/logLook.ts";

type Encoding = LogLook["encoding"];

/** How the bytes of a text are to be read: by its mark, by zeros between letters, by whether it is UTF-8. */
export function encodingOf(bytes: Uint8Array): Encoding {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return "utf-16le";
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return "utf-16be";
  const zeros = (from: number): number => {
    let count = 0;
    for (let i = from; i < Math.min(bytes.length, 400); i += 2) if (bytes[i] === 0) count += 1;
    return count;
  };
  const pairs = Math.min(bytes.length, 400) / 2;
  if (pairs >= 4 && zeros(1) > pairs / 2) return "utf-16le";
  if (pairs >= 4 && zeros(0) > pairs / 2) return "utf-16be";
  try {
    // What is cut in the middle of a character is not wrong for that.
    new TextDecoder("utf-8", { fatal: true }).decode(bytes, { stream: true });
    return "utf-8";
  } catch {
    return "windows-1252";
  }
}
