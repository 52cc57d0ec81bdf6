/** A photo made small enough to keep, upright, as the browser shows it. */
import { CranksideError } from "../../../../shared/errors.ts";
import { photoTypes } from "../../../sheet/job.ts";
import { photoLimits } from "../../../sheet/photo/photo.ts";

/** Width and height within the limit, the shape kept. */
export function fitted(width: number, height: number): { width: number; height: number } {
  const factor = Math.min(1, photoLimits.side / Math.max(width, height));
  return { width: Math.max(1, Math.round(width * factor)), height: Math.max(1, Math.round(height * factor)) };
}

/** Rejects with `photo-invalid`. */
export async function scaledPhoto(file: Blob): Promise<Blob> {
  const wrong = (found: string, cause?: unknown): CranksideError =>
    new CranksideError(
      "photo-invalid",
      "photo rejected",
      { expected: "a JPEG, PNG or WebP picture", found },
      cause,
    );
  if (!(photoTypes as readonly string[]).includes(file.type))
    throw wrong(file.type === "" ? "another file" : file.type);
  let bitmap: ImageBitmap;
  try {
    bitmap = await createImageBitmap(file);
  } catch (error) {
    throw wrong("one that cannot be drawn", error);
  }
  const { width, height } = fitted(bitmap.width, bitmap.height);
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  const context = canvas.getContext("2d");
  if (context === null) throw wrong("no canvas to scale it on");
  context.fillStyle = "#ffffff";
  context.fillRect(0, 0, width, height);
  context.drawImage(bitmap, 0, 0, width, height);
  bitmap.close();
  return new Promise((resolve, reject) => {
    canvas.toBlob(
      (blob) => {
        if (blob === null) reject(wrong("one that cannot be written anew"));
        else resolve(blob);
      },
      "image/jpeg",
      0.85,
    );
  });
}
