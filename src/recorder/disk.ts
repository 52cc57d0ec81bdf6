import { close, closeSync, fdatasync, fsync, open, openSync, writeSync } from "node:fs";

/** The few things the writer asks of a disk; tests put one in between that fails. */
export interface Disk {
  /** Flags as of `open(2)` through Node: `ax+` makes a new file that can only be appended to. */
  open(path: string, flags: string | number): number;
  /** Writes a piece from `at` on at the end of the file; returns how many bytes went. May be fewer than asked. */
  write(fd: number, bytes: Uint8Array, at: number): number;
  /** Resolves when all that was written is on the disk itself. */
  sync(fd: number): Promise<void>;
  close(fd: number): void;
  /** Has a new file's name in its folder written to the disk too. Nobody waits for it. */
  syncFolder?(folder: string): void;
}

export const realDisk: Disk = {
  open: (path, flags) => openSync(path, flags),
  write: (fd, bytes, at) => writeSync(fd, bytes, at, bytes.length - at),
  sync: (fd) =>
    new Promise((resolve, reject) => {
      fdatasync(fd, (error) => {
        if (error === null) resolve();
        else reject(error);
      });
    }),
  close: (fd) => closeSync(fd),
  syncFolder: (folder) => {
    open(folder, "r", (failed, fd) => {
      // Some systems know no folders as files, and write names at once.
      if (failed === null) fsync(fd, () => abandon(fd));
    });
  },
};

/** Closes without caring: the file may already be gone with its disk. */
export function abandon(fd: number): void {
  close(fd, () => undefined);
}
