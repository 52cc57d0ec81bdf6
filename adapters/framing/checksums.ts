/** Sum of the bytes modulo 256: ISO 9141-2 and ISO 14230-2. */
export function checksumSum(bytes: Uint8Array): number {
  let sum = 0;
  for (const byte of bytes) sum = (sum + byte) & 0xff;
  return sum;
}

/**
 * CRC-8/SAE-J1850: polynomial 1D, start FF, final exclusive-or FF, most significant bit first. Source: RevEng
 * catalogue of CRC algorithms; check value of "123456789" is 4B.
 */
export function crcJ1850(bytes: Uint8Array): number {
  let crc = 0xff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = ((crc << 1) ^ ((crc & 0x80) !== 0 ? 0x1d : 0)) & 0xff;
  }
  return crc ^ 0xff;
}
