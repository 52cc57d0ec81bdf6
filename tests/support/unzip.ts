/** Files in a zip, as a general library reads them. */
import { fromBuffer, type Entry, type ZipFile } from "yauzl";

export function entriesOf(bytes: Buffer): Promise<Map<string, Buffer>> {
  const found = new Map<string, Buffer>();
  return new Promise((resolve, reject) => {
    fromBuffer(bytes, { lazyEntries: true }, (error, zip) => {
      if (error !== null) {
        reject(error);
        return;
      }
      zip.on("error", reject);
      zip.on("end", () => resolve(found));
      zip.on("entry", (entry: Entry) => {
        contentOf(zip, entry).then((content) => {
          found.set(entry.fileName, content);
          zip.readEntry();
        }, reject);
      });
      zip.readEntry();
    });
  });
}

function contentOf(zip: ZipFile, entry: Entry): Promise<Buffer> {
  return new Promise((resolve, reject) => {
    zip.openReadStream(entry, (error, stream) => {
      if (error !== null) {
        reject(error);
        return;
      }
      const pieces: Buffer[] = [];
      stream.on("data", (piece: Buffer) => pieces.push(piece));
      stream.on("error", reject);
      stream.on("end", () => resolve(Buffer.concat(pieces)));
    });
  });
}
