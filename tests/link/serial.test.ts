import { mkdtemp, rm, writeFile, mkdir } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, expect, test } from "vitest";
import { listPorts, openSerial, serialPair, type SerialPair } from "../../adapters/link/index.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { socat } from "../support/tools.ts";

const withPair = test.skipIf(socat === null);
const pairs: SerialPair[] = [];
const folders: string[] = [];

async function pair(): Promise<SerialPair> {
  const made = await serialPair();
  pairs.push(made);
  return made;
}

async function folder(): Promise<string> {
  const made = await mkdtemp(join(tmpdir(), "crankside-ports-"));
  folders.push(made);
  return made;
}

afterEach(async () => {
  await Promise.all(pairs.splice(0).map((made) => made.close()));
  await Promise.all(folders.splice(0).map((path) => rm(path, { recursive: true })));
});

test("a port that does not exist", async () => {
  const outcome = await openSerial({ path: "/dev/ttyUSB99", baud: 38_400 }).catch((e: unknown) => e);
  expect(isCranksideError(outcome, "port-missing")).toBe(true);
});

test.skipIf(process.platform === "win32")("a file or a folder in place of a port", async () => {
  const path = await folder();
  const file = join(path, "file");
  await writeFile(file, "no port");
  for (const wrong of [path, file]) {
    const outcome = await openSerial({ path: wrong, baud: 38_400 }).catch((e: unknown) => e);
    expect(isCranksideError(outcome, "port-missing")).toBe(true);
  }
});

test("an empty path is an error with a code as well", async () => {
  const outcome = await openSerial({ path: "", baud: 38_400 }).catch((e: unknown) => e);
  expect(isCranksideError(outcome)).toBe(true);
});

withPair(
  "a rate that is set as the device goes finds the line lost, not a port that cannot do it",
  async () => {
    // Before the loss is told, and after it.
    for (const first of [true, false]) {
      const made = await pair();
      const end = await openSerial({ path: made.b, baud: 38_400 });
      const lost = new Promise((resolve) => end.onClose(resolve));
      await made.close();
      if (!first) await Promise.all([end.write(Uint8Array.of(13)).catch(() => undefined), lost]);
      const outcome = await end.setBaud?.(115_200).catch((e: unknown) => e);
      expect(isCranksideError(outcome, "link-closed")).toBe(true);
      expect(isCranksideError(await lost, "link-failed")).toBe(true);
      await end.close();
    }
  },
);

withPair("a port that is open already is busy, and can be opened again after it was closed", async () => {
  const { a } = await pair();
  const first = await openSerial({ path: a, baud: 38_400 });
  const outcome = await openSerial({ path: a, baud: 38_400 }).catch((e: unknown) => e);
  expect(isCranksideError(outcome, "port-busy")).toBe(true);
  await first.close();
  const again = await openSerial({ path: a, baud: 9_600 });
  await again.close();
});

const notRoot = process.platform !== "win32" && process.getuid?.() !== 0;
test.skipIf(!notRoot)("a port that the system refuses (skipped for root, who is never refused)", async () => {
  const { chmod } = await import("node:fs/promises");
  const path = join(await folder(), "port");
  await writeFile(path, "");
  await chmod(path, 0);
  const outcome = await openSerial({ path, baud: 38_400 }).catch((e: unknown) => e);
  expect(isCranksideError(outcome, "port-refused")).toBe(true);
});

withPair("after the pair is gone both its devices are", async () => {
  const made = await pair();
  await made.close();
  await made.close();
  const outcome = await openSerial({ path: made.a, baud: 38_400 }).catch((e: unknown) => e);
  expect(isCranksideError(outcome, "port-missing")).toBe(true);
});

test("a pair without its program says what is missing", async () => {
  const outcome = await serialPair("no-such-program-as-this").catch((e: unknown) => e);
  expect(isCranksideError(outcome, "port-missing")).toBe(true);
});

withPair("a maker of pairs that gives up at once is an error, not a wait", async () => {
  const outcome = await serialPair("false").catch((e: unknown) => e);
  expect(isCranksideError(outcome, "link-failed")).toBe(true);
});

test("ports: the system's list, with what it knows", async () => {
  const ports = await listPorts({
    list: () =>
      Promise.resolve([
        { path: "/dev/ttyS0", manufacturer: undefined },
        {
          path: "/dev/ttyUSB10",
          manufacturer: "Maker",
          pnpId: "usb-Maker_Cable",
          vendorId: "1234",
          productId: "abcd",
          serialNumber: "7",
        },
        { path: "/dev/ttyUSB2" },
      ]),
    devices: null,
    ttys: await folder(),
  });
  expect(ports).toEqual([
    { path: "/dev/ttyUSB2", about: "no details known" },
    { path: "/dev/ttyUSB10", about: "Maker, usb-Maker_Cable, USB 1234:abcd, serial number 7" },
    { path: "/dev/ttyS0", about: "no details known" },
  ]);
});

test("ports: built-in ports without a chip behind them are left out", async () => {
  const ttys = await folder();
  for (const [name, type] of [
    ["ttyS0", "4"],
    ["ttyS1", "0"],
  ] as const) {
    await mkdir(join(ttys, name));
    await writeFile(join(ttys, name, "type"), `${type}\n`);
  }
  const ports = await listPorts({
    list: () => Promise.resolve([{ path: "/dev/ttyS1" }, { path: "/dev/ttyS0" }]),
    devices: null,
    ttys,
  });
  expect(ports.map((port) => port.path)).toEqual(["/dev/ttyS0"]);
});

test("ports: where the system's list fails, the device files are looked through", async () => {
  const devices = await folder();
  for (const name of ["ttyUSB0", "ttyACM1", "rfcomm0", "tty1", "ttyUSBx", "sda"])
    await writeFile(join(devices, name), "");
  const ports = await listPorts({
    list: () => Promise.reject(new Error("spawn udevadm ENOENT")),
    devices,
    ttys: devices,
  });
  expect(ports.map((port) => port.path)).toEqual(
    ["rfcomm0", "ttyACM1", "ttyUSB0"].map((name) => join(devices, name)),
  );
  expect(ports.every((port) => port.about.includes("ENOENT"))).toBe(true);
});

test("ports: the real list of this machine comes without an error", async () => {
  const ports = await listPorts();
  expect(ports.every((port) => port.path !== "" && port.about !== "")).toBe(true);
});
