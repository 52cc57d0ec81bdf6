import { readdir, readFile } from "node:fs/promises";
import { basename, join } from "node:path";
import type { PortInfo } from "../../shared/messages.ts";

/** What the serial library tells of a port; every field may be missing or empty. */
export interface ListedPort {
  readonly path: string;
  readonly manufacturer?: string | undefined;
  readonly friendlyName?: string | undefined;
  readonly pnpId?: string | undefined;
  readonly serialNumber?: string | undefined;
  readonly vendorId?: string | undefined;
  readonly productId?: string | undefined;
}

export interface PortSources {
  /** What the system lists; may reject, as it does on Linux without udevadm. */
  readonly list: () => Promise<readonly ListedPort[]>;
  /** Folder of device files, looked through as well; null where there is none. */
  readonly devices: string | null;
  /** Folder that knows the type of built-in ports on Linux. */
  readonly ttys: string;
}

const systemSources: PortSources = {
  list: async () => (await import("serialport")).SerialPort.list(),
  devices: process.platform === "win32" ? null : "/dev",
  ttys: "/sys/class/tty",
};

/** USB serial chips, modems' class of USB serial, and Bluetooth serial lines, as Linux names them. */
const adapterDevice = /^(ttyUSB|ttyACM|rfcomm)\d+$/;

/**
 * Serial ports, likely adapters first. Where the system's own list fails or is empty, the device files are looked
 * through instead, so an adapter is found without udev too.
 */
export async function listPorts(sources: PortSources = systemSources): Promise<PortInfo[]> {
  let failed = "";
  const listed = await sources.list().catch((error: unknown): ListedPort[] => {
    // The list is a convenience: without it the device files are looked at, and the page says why little is known.
    failed = error instanceof Error ? error.message : String(error);
    return [];
  });
  const ports: PortInfo[] = [];
  for (const port of listed) {
    if (await isThere(port, sources.ttys)) ports.push({ path: port.path, about: aboutPort(port) });
  }
  for (const path of await scan(sources.devices)) {
    if (ports.some((port) => port.path === path)) continue;
    ports.push({
      path,
      about: failed === "" ? "no details known" : `no details known (${failed})`,
    });
  }
  return ports.sort(
    (a, b) => rank(a.path) - rank(b.path) || a.path.localeCompare(b.path, "en", { numeric: true }),
  );
}

function rank(path: string): number {
  return /ttyS\d+$/.test(path) ? 1 : 0;
}

/** Linux lists built-in ports whether or not there is a chip behind them; type 0 means that there is none. */
async function isThere(port: ListedPort, ttys: string): Promise<boolean> {
  if (!/ttyS\d+$/.test(port.path)) return true;
  const type = await readFile(join(ttys, basename(port.path), "type"), "latin1").catch(() => null);
  return type === null || type.trim() !== "0";
}

function aboutPort(port: ListedPort): string {
  const usb =
    port.vendorId !== undefined && port.productId !== undefined
      ? `USB ${port.vendorId}:${port.productId}`
      : "";
  const facts = [
    port.friendlyName ?? port.manufacturer ?? "",
    port.friendlyName === undefined ? (port.pnpId ?? "") : "",
    usb,
    port.serialNumber === undefined || port.serialNumber === "" ? "" : `serial number ${port.serialNumber}`,
  ].filter((fact) => fact !== "");
  return facts.length === 0 ? "no details known" : facts.join(", ");
}

async function scan(devices: string | null): Promise<string[]> {
  if (devices === null) return [];
  // A folder that cannot be read holds nothing that could be opened.
  const names = await readdir(devices).catch((): string[] => []);
  return names.filter((name) => adapterDevice.test(name)).map((name) => join(devices, name));
}
