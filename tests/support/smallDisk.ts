/** A small file system of its own, to be filled, made read-only and taken away. */
import { spawnSync } from "node:child_process";
import { closeSync, mkdtempSync, openSync, rmSync, truncateSync, writeFileSync, writeSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";

function does(command: string, ...args: readonly string[]): boolean {
  return spawnSync(command, args, { stdio: "ignore" }).status === 0;
}

function mount(...args: readonly string[]): boolean {
  return does("mount", ...args);
}

export class SmallDisk {
  readonly path: string;
  /** The file that holds the whole file system; null where memory does. */
  readonly #image: string | null;

  /** Null where this machine does not let us mount. */
  static make(kilobytes = 1024): SmallDisk | null {
    const path = mkdtempSync(join(tmpdir(), "crankside-disk-"));
    if (process.platform === "linux" && mount("-t", "tmpfs", "-o", `size=${kilobytes}k`, "tmpfs", path)) {
      return new SmallDisk(path);
    }
    rmSync(path, { recursive: true });
    return null;
  }

  /**
   * An ext4 in a file, which turns read-only at its first error, as most systems mount a disk. (A file system in
   * memory refuses to while a file is open for writing.) Null where this machine does not let us.
   */
  static makeReal(megabytes = 16): SmallDisk | null {
    const path = mkdtempSync(join(tmpdir(), "crankside-disk-"));
    const image = `${path}.img`;
    writeFileSync(image, "");
    truncateSync(image, megabytes * 1024 * 1024);
    const able =
      process.platform === "linux" &&
      does("mkfs.ext4", "-q", "-F", "-O", "^has_journal", image) &&
      mount("-o", "loop,errors=remount-ro", image, path);
    if (able) return new SmallDisk(path, image);
    rmSync(path, { recursive: true });
    rmSync(image);
    return null;
  }

  private constructor(path: string, image: string | null = null) {
    this.path = path;
    this.#image = image;
  }

  /** The system met an error on it and takes no more: of files that are open neither. Only a real one can. */
  makeReadOnly(): void {
    const loop = spawnSync("losetup", ["-n", "-O", "NAME", "-j", this.#image ?? ""], { encoding: "utf8" });
    writeFileSync(`/sys/fs/ext4/${basename(loop.stdout.trim())}/trigger_fs_error`, "1");
  }

  /** Leaves no byte free. */
  fill(): void {
    const fd = openSync(join(this.path, "filler"), "a");
    try {
      for (let size = 65_536; size >= 1;) {
        try {
          writeSync(fd, Buffer.alloc(size));
        } catch {
          // No room for so much: less is tried.
          size = Math.floor(size / 2);
        }
      }
    } finally {
      closeSync(fd);
    }
  }

  makeRoom(): void {
    rmSync(join(this.path, "filler"), { force: true });
  }

  /** As when a stick is pulled: the path leads to another, empty and read-only place; open files go on existing. */
  takeAway(): void {
    if (!mount("-t", "tmpfs", "-o", "size=16k,ro", "tmpfs", this.path))
      throw new Error("cannot mount over it");
  }

  bringBack(): void {
    spawnSync("umount", [this.path]);
  }

  /** Unmounted under the open file, which goes on existing: the path leads to the empty folder below. */
  unmount(): void {
    if (!does("umount", "-l", this.path)) throw new Error("cannot be unmounted");
  }

  remove(): void {
    for (let layers = 0; layers < 3; layers++) spawnSync("umount", ["-l", this.path], { stdio: "ignore" });
    rmSync(this.path, { recursive: true, force: true });
    if (this.#image !== null) rmSync(this.#image, { force: true });
  }
}

/** Mounting takes rights that not every machine gives. */
export const mayMount: boolean = can(() => SmallDisk.make());

/** A file system in a file takes more than that. */
export const mayMountReal: boolean = mayMount && can(() => SmallDisk.makeReal());

function can(make: () => SmallDisk | null): boolean {
  const disk = make();
  disk?.remove();
  return disk !== null;
}
