/** The room's door: replies taken apart, checksums, and replies cut into parameters. */
export { checksumSum, crcJ1850 } from "./checksums.ts";
export { joinMultipart } from "./multipart.ts";
export type { DiscardedPiece, MessagePiece, Piece, StatusPiece } from "./pieces.ts";
export { QuickReply } from "./quick.ts";
export { readReply, type Others } from "./readReply.ts";
export { partEnd, splitService01, type Service01Part, type Service01Parts } from "./service01.ts";
