/** Bytes that go into one call; a multiple of three, so that the pieces join without padding. */
const piece = 0x3000;

/** RFC 4648, section 4, by the platform's own coder, a piece at a time. */
export function base64(bytes: Uint8Array): string {
  let text = "";
  for (let i = 0; i < bytes.length; i += piece) text += btoa(latin1(bytes.subarray(i, i + piece)));
  return text;
}

/** The array is the list of arguments as it is: spread out, it would be gone through one by one. */
function latin1(bytes: Uint8Array): string {
  const text: unknown = Reflect.apply(String.fromCharCode, null, bytes);
  return String(text);
}
