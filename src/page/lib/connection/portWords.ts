/** What the system knows of places where an adapter could be. Pure. */
import type { PortInfo } from "../../../../shared/messages.ts";

/** A machine's own serial port is seldom what an adapter hangs on: those come over USB or radio. */
export const isLikely = ({ path }: PortInfo): boolean => !/^(?:\/dev\/ttyS|COM1$)/.test(path);

const listed = 2;

/** "seen: /dev/ttyUSB0 (…)", or that nothing is; null: it is still looked. */
export function portWords(ports: readonly PortInfo[] | null): string {
  if (ports === null) return "looking for ports…";
  const likely = ports.filter(isLikely);
  if (likely.length === 0)
    return ports.length === 0
      ? "no serial port found"
      : `no port looks like an adapter (other ports here: ${ports.length})`;
  const named = likely
    .slice(0, listed)
    .map(({ path, about }) => (about === "" ? path : `${path} (${about})`))
    .join(", ");
  return `seen: ${named}${likely.length > listed ? ` and ${likely.length - listed} more` : ""}`;
}
