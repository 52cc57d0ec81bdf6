import type { SerialPort } from "serialport";
import { CranksideError, messageOf, type ErrorCode } from "../../shared/errors.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { EndState } from "./endState.ts";

export interface SerialOptions {
  /** `/dev/ttyUSB0`, `COM3`, `/dev/tty.usbserial-110`. */
  readonly path: string;
  /** Bits a second, 300 to 4000000. */
  readonly baud: number;
}

interface Failure {
  readonly found: RegExp;
  readonly code: ErrorCode;
  readonly summary: string;
  /** In place of the system's words, where those say nothing to who reads them. */
  readonly told?: string;
  readonly advice: string;
}

/** The serial library gives no codes, only the system's words. */
const failures: readonly Failure[] = [
  {
    found: /no such (file|device)|file not found|cannot find/i,
    code: "port-missing",
    summary: "there is no such serial port",
    advice: "Plug the adapter in and look at the list of ports again; the name may have changed.",
  },
  {
    found:
      /is a directory|inappropriate ioctl|not a (typewriter|directory)|bad file descriptor|invalid argument/i,
    code: "port-missing",
    summary: "this is not a serial port",
    told: "a file, or another kind of device",
    advice: "Take a name from the list of ports.",
  },
  {
    found: /cannot lock|temporarily unavailable|busy/i,
    code: "port-busy",
    summary: "another program has the serial port open",
    advice: "Close the other program, or wait for it to end, then try again.",
  },
  {
    found: /permission denied|operation not permitted/i,
    code: "port-refused",
    summary: "the system does not let you open the serial port",
    advice: refusedAdvice(),
  },
  {
    // Windows says this of a port that is open elsewhere.
    found: /access (is )?denied/i,
    code: "port-busy",
    summary: "the serial port is open in another program, or the system refuses it",
    advice:
      "Close the other program; if none has it, unplug the adapter, plug it in, and look at its driver.",
  },
];

function refusedAdvice(): string {
  switch (process.platform) {
    case "linux":
      return (
        "Join the group that owns the port (`ls -l` shows it; dialout on Debian, Ubuntu and Fedora, uucp on Arch): " +
        "`sudo usermod -aG dialout $USER`, then log out and in."
      );
    case "darwin":
      return "Allow the terminal to use the accessory in the system settings, and install the adapter's driver if it came with one.";
    default:
      return "Install the driver of the adapter's USB chip, and run as a user who may open the port.";
  }
}

function openError(error: unknown, where: string): CranksideError {
  const found = messageOf(error).replace(/^Error:?\s*/, "");
  const failure = failures.find((row) => row.found.test(found));
  if (failure === undefined) {
    return new CranksideError("link-failed", "the serial port could not be opened", { found, where }, error);
  }
  const { told = found, advice } = failure;
  return new CranksideError(failure.code, failure.summary, { found: told, where, advice }, error);
}

/** Loaded on first use: its native part is of no use to who only reads recordings. */
async function library(): Promise<typeof import("serialport")> {
  try {
    return await import("serialport");
  } catch (error) {
    throw new CranksideError(
      "link-failed",
      "the serial library cannot be loaded on this system",
      {
        found: messageOf(error),
        advice: "Run `npm ci` again on this machine; adapters over TCP work without it.",
      },
      error,
    );
  }
}

/**
 * Opens a serial port: 8 data bits, no parity, 1 stop bit, no flow control, for us alone. Rejects with `port-missing`,
 * `port-busy`, `port-refused` or `link-failed`.
 */
export async function openSerial({ path, baud }: SerialOptions): Promise<ByteEnd> {
  const { SerialPort } = await library();
  const name = `serial:${path}@${baud}`;
  const port = await new Promise<SerialPort>((resolve, reject) => {
    const opening = new SerialPort({ path, baudRate: baud, autoOpen: false });
    opening.open((error) => {
      if (error === null) resolve(opening);
      else reject(error);
    });
  }).catch((error: unknown) => {
    throw openError(error, name);
  });
  return wrapPort(port, name);
}

const unplugged = "The adapter was unplugged or lost its supply: plug it in again.";

const deviceGone = "the device is gone";

/** What the system says of a device that went; the library, of a port that it has dealt with already. */
const gone = /bad file descriptor|no such device|not configured|input\/output error|port is not open/i;

function goneWords(error: unknown): unknown {
  return gone.test(messageOf(error)) ? deviceGone : error;
}

function wrapPort(port: SerialPort, name: string): ByteEnd {
  const state = new EndState(name);
  const lose = (error: unknown): void => state.shut(state.lost(goneWords(error), unplugged));
  const closed = new Promise<void>((resolve) => {
    port.once("close", (error: unknown) => {
      lose(error ?? deviceGone);
      resolve();
    });
    port.on("error", (error: Error) => {
      lose(error);
      // The stream is over, but its device may still be held open, and nobody could open it again.
      if (port.isOpen) port.close(() => resolve());
      else resolve();
    });
  });
  port.on("data", (bytes: Uint8Array) => state.deliver(bytes));
  return {
    name,
    write: (bytes) => state.write((done) => port.write(Buffer.from(bytes), undefined, done)),
    onBytes: (listener) => state.onBytes(listener),
    onClose: (listener) => state.onClose(listener),
    setBaud: (baud) =>
      new Promise((resolve, reject) => {
        port.update({ baudRate: baud }, (error) => {
          if (error === null) {
            resolve();
          } else if (gone.test(messageOf(error))) {
            // Told before the loss itself was: the line is lost as by any other way, and may come back.
            lose(error);
            if (port.isOpen) port.close();
            reject(state.closedError());
          } else {
            reject(openError(error, name));
          }
        });
      }),
    async close() {
      state.shut(null);
      // Not open any more means that the loss is being dealt with: its close event is on the way or was.
      if (port.isOpen) {
        await new Promise<void>((resolve, reject) => {
          port.close((error) => {
            if (error === null) resolve();
            else reject(state.lost(error));
          });
        });
      }
      await closed;
    },
  };
}
