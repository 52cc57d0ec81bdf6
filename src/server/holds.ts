/**
 * One program to one adapter. A serial port can be locked by the system, but not against everybody, and a TCP adapter
 * not at all: so each program of ours leaves a note where the others look.
 */
import { createHash } from "node:crypto";
import { lookup } from "node:dns/promises";
import { linkSync, mkdirSync, realpathSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { addressText, type Address } from "../../shared/address.ts";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import { isAlive, noteOf, notesFolder, readNote, type Note } from "./notes.ts";
import { isSystemError } from "./system.ts";

/** Notes of this very process, by file: it may have several desks. */
const ours = new Set<string>();

/**
 * Takes the adapter for this program; returns what lets it go. Throws `link-held` while another program that is
 * alive has it. A bench vehicle is everybody's own; a device of a page is held by that page's program alone.
 */
export async function holdAdapter(
  address: Address,
  clock: Clock,
  folder = notesFolder(),
): Promise<() => void> {
  if (address.kind === "bench" || address.kind === "browser") return () => undefined;
  const name = createHash("sha256")
    .update(await thing(address))
    .digest("hex")
    .slice(0, 24);
  const file = join(folder, `${name}.json`);
  const adapter = addressText(address);
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const draft = join(folder, `${name}.${process.pid}.${ours.size}.tmp`);
  writeFileSync(draft, noteOf(adapter, clock));
  try {
    leave(draft, file, adapter);
  } finally {
    rmSync(draft, { force: true });
  }
  ours.add(file);
  return () => {
    if (ours.delete(file)) rmSync(file, { force: true });
  };
}

/** What can only be held once: a device by its true path, whatever baud rate or name it is opened with. */
async function thing(address: Exclude<Address, { kind: "bench" | "browser" }>): Promise<string> {
  if (address.kind === "tcp") return `tcp:${await resolved(address.host)}:${address.port}`;
  try {
    return `serial:${realpathSync(address.path)}`;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return `serial:${address.path}`;
  }
}

/** The address behind a name; this machine has one, whatever it is called. A name that leads nowhere stays itself. */
async function resolved(host: string): Promise<string> {
  try {
    const { address } = await lookup(host);
    return /^127\.|^::1$|^::ffff:127\./.test(address) ? "this machine" : address;
  } catch (error) {
    if (!isSystemError(error)) throw error;
    return host.toLowerCase();
  }
}

/** A link is made whole or not at all, so nobody reads half a note. */
function leave(draft: string, file: string, adapter: string): void {
  for (let tries = 0; ; tries++) {
    try {
      linkSync(draft, file);
      return;
    } catch (error) {
      if (!isSystemError(error, "EEXIST") || tries === 3) throw error;
    }
    const holder = readNote(file);
    if (ours.has(file) || (holder !== null && isAlive(holder))) throw held(holder, adapter);
    rmSync(file, { force: true });
  }
}

function held(holder: Note | null, adapter: string): CranksideError {
  return new CranksideError("link-held", "the adapter is held by another Crankside on this machine", {
    found: holder === null ? "a hold of this program" : `process ${holder.pid}, since ${holder.since}`,
    where: adapter,
    advice: "Disconnect there first, or end that program.",
  });
}
