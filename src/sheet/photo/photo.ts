/**
 * A photo as it is kept: its kind told by its bytes and not by its name, its structure checked piece by piece, and
 * everything dropped that is not picture: position, camera, time, comments, thumbnails, and what hangs behind the end.
 * The page sends JPEG; PNG and WebP stay for jobs and bundles that were given one through the program's door.
 */
import type { PhotoType } from "../job.ts";
import { latin, wrong } from "./bytes.ts";
import { cleanJpeg } from "./jpeg.ts";
import { cleanPng } from "./png.ts";
import { cleanWebp } from "./webp.ts";

export const photoLimits = {
  /** Longer side, pixels; the page scales down before it sends. */
  side: 2000,
  bytes: 8 * 1024 * 1024,
} as const;

export interface CleanPhoto {
  readonly type: PhotoType;
  readonly width: number;
  readonly height: number;
  readonly bytes: Uint8Array;
}

/** Throws `photo-invalid`. */
export function cleanPhoto(bytes: Uint8Array): CleanPhoto {
  if (bytes.length > photoLimits.bytes)
    throw wrong(`at most ${photoLimits.bytes} bytes`, `${bytes.length} bytes`);
  const photo = cleaned(bytes);
  if (Math.max(photo.width, photo.height) > photoLimits.side) {
    throw wrong(`at most ${photoLimits.side} pixels a side`, `${photo.width} by ${photo.height}`);
  }
  return photo;
}

function cleaned(bytes: Uint8Array): CleanPhoto {
  if (bytes[0] === 0xff && bytes[1] === 0xd8) return { type: "image/jpeg", ...cleanJpeg(bytes) };
  if (latin(bytes, 1, 3) === "PNG" && bytes[0] === 0x89) return { type: "image/png", ...cleanPng(bytes) };
  if (latin(bytes, 0, 4) === "RIFF" && latin(bytes, 8, 4) === "WEBP")
    return { type: "image/webp", ...cleanWebp(bytes) };
  throw wrong("a JPEG, PNG or WebP picture", bytes.length === 0 ? "an empty file" : "another kind of file");
}
