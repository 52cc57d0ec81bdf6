/** Characters to be looked at where they stand: a string, or bytes that are read as one without making it. */
export interface Chars {
  readonly length: number;
  /** NaN beyond the end. */
  charCodeAt(at: number): number;
  startsWith(wanted: string, at?: number): boolean;
  indexOf(wanted: string, at?: number): number;
  slice(from: number, to?: number): string;
}

/**
 * Bytes of UTF-8. Single characters are looked at as the bytes they are, which is right below 0x80 only: whoever meets
 * more takes a slice, which is decoded.
 */
export class ByteChars implements Chars {
  readonly #bytes: Uint8Array;
  readonly #decode: (bytes: Uint8Array) => string;

  constructor(bytes: Uint8Array, decode: (bytes: Uint8Array) => string) {
    this.#bytes = bytes;
    this.#decode = decode;
  }

  get length(): number {
    return this.#bytes.length;
  }

  charCodeAt(at: number): number {
    return this.#bytes[at] ?? Number.NaN;
  }

  startsWith(wanted: string, at = 0): boolean {
    for (let i = 0; i < wanted.length; i++) if (this.#bytes[at + i] !== wanted.charCodeAt(i)) return false;
    return true;
  }

  /** Of one character below 0x80. */
  indexOf(wanted: string, at = 0): number {
    return this.#bytes.indexOf(wanted.charCodeAt(0), at);
  }

  slice(from: number, to?: number): string {
    return this.#decode(this.#bytes.subarray(from, to));
  }
}
