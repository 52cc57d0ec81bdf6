/**
 * What the pure rooms use beyond the language itself: UTF-8, as every browser and Node have it (WHATWG Encoding
 * Standard). Elsewhere the platform's own types say the same.
 */
declare class TextEncoder {
  encode(text: string): Uint8Array;
}

declare class TextDecoder {
  constructor(label: "utf-8", options: { readonly ignoreBOM: boolean });
  decode(bytes: Uint8Array): string;
}
