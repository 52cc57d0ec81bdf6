/** A file system of its own in memory, small enough to be filled, that can be made read-only and taken away. */
import { spawnSync } from "node:child_process";
import { closeSync, mkdtempSync, openSync, rmSync, writeSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

function mount(...args: readonly string[]): boolean {
  return spawnSync("mount", args, { stdio: "ignore" }).status === 0;
}

export class SmallDisk {
  readonly path: string;

  /** Null where this machine does not let us mount. */
  static make(kilobytes = 1024): SmallDisk | null {
    const path = mkdtempSync(join(tmpdir(), "crankside-disk-"));
    if (process.platform === "linux" && mount("-t", "tmpfs", "-o", `size=${kilobytes}k`, "tmpfs", path)) {
      return new SmallDisk(path);
    }
    rmSync(path, { recursive: true });
    return null;
  }

  private constructor(path: string) {
    this.path = path;
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

  remove(): void {
    for (let layers = 0; layers < 3; layers++) spawnSync("umount", ["-l", this.path], { stdio: "ignore" });
    rmSync(this.path, { recursive: true, force: true });
  }
}

/** Mounting takes rights that not every machine gives. */
export const mayMount: boolean = (() => {
  const disk = SmallDisk.make();
  disk?.remove();
  return disk !== null;
})();
