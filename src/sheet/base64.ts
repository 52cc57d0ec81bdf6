const signs = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
const codes = Uint8Array.from(signs, (c) => c.charCodeAt(0));

/** More arguments than this a call may not take. */
const piece = 0x2000;

/** RFC 4648, section 4. Written for bytes by the megabyte: three at a time into one array. */
export function base64(bytes: Uint8Array): string {
  const out = new Uint8Array(Math.ceil(bytes.length / 3) * 4);
  let at = 0;
  for (let i = 0; i < bytes.length; i += 3) {
    const word = ((bytes[i] ?? 0) << 16) | ((bytes[i + 1] ?? 0) << 8) | (bytes[i + 2] ?? 0);
    out[at] = codes[word >> 18] ?? 0;
    out[at + 1] = codes[(word >> 12) & 63] ?? 0;
    out[at + 2] = i + 1 < bytes.length ? (codes[(word >> 6) & 63] ?? 0) : 0x3d;
    out[at + 3] = i + 2 < bytes.length ? (codes[word & 63] ?? 0) : 0x3d;
    at += 4;
  }
  let text = "";
  for (let i = 0; i < out.length; i += piece) text += ascii(out.subarray(i, i + piece));
  return text;
}

/** The array is the list of arguments as it is: spread out, it would be gone through one by one. */
function ascii(codesOfText: Uint8Array): string {
  const text: unknown = Reflect.apply(String.fromCharCode, null, codesOfText);
  return String(text);
}
