/**
 * Text from elsewhere for a terminal: control characters but line ends and tabs are shown as their codes, so that nothing
 * in a recording moves the cursor, sets a title or reads the keyboard.
 */
export function plain(text: string): string {
  return text.replace(
    /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g,
    (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`,
  );
}
