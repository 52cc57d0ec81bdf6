/**
 * What the pure rooms use beyond the language itself, as every browser and Node have it: UTF-8 (WHATWG Encoding
 * Standard) and base64 (WHATWG HTML Standard). Elsewhere the platform's own types say the same.
 */
declare class TextEncoder {
  encode(text: string): Uint8Array;
}

declare class TextDecoder {
  constructor(label: "utf-8", options: { readonly ignoreBOM: boolean });
  decode(bytes: Uint8Array): string;
}

declare function btoa(latin1: string): string;
declare function atob(base64: string): string;
