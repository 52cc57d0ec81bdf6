/** An adapter gone mad behind the real session: whatever it says, the session lives and nothing forbidden is asked. */
import { memoryPair, VirtualClock } from "../../adapters/link/index.ts";
import { ratedPair } from "../../adapters/link/rated.ts";
import { RateMemory } from "../../adapters/polling/rateMemory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { formatName, formatVersion, headerLine, type RecordingEvent } from "../../shared/recording/format.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { Reading } from "../../src/reading/index.ts";
import { forbiddenIn, tapped } from "../support/mayLeave.ts";
import type { FuzzTarget } from "./fuzz.ts";
import { mutate, type Chance } from "./mutate.ts";

const sane: Readonly<Record<string, string>> = {
  "": "OK",
  ATZ: "ELM327 v1.5",
  ATWS: "ELM327 v1.5",
  ATI: "ELM327 v1.5",
  ATRV: "12.4V",
  ATDPN: "6",
  "0100": "7E8064100BE3EA813",
  "010C": "7E804410C0C80",
  "010B": "7E803410B23",
  "0902": "7E8101449020131\r7E8214434547523030\r7E8225234303030303031",
};

/** Replies of one session. */
const repliesEach = 250;
/** Every other session is on a line with a rate, which is then asked to be faster. */
const baud = 38_400;

export const madAdapter: FuzzTarget = {
  name: "adapter bytes, through link, dialogue, framing, session and reading",
  async run(chance) {
    const clock = new VirtualClock();
    const reading = new Reading("fuzz");
    reading.push(
      headerLine({
        ...{ format: formatName, version: formatVersion, started: "2024-01-01T00:00:00Z" },
        ...{ from: "tcp:mad:1", adapter: null, protocol: null, vehicle: {}, invented: true, writer: "fuzz" },
      }),
    );
    const rated = chance.below(2) === 0;
    let said = 0;
    /** All that our side wrote, of whatever the adapter could read at its rate. */
    let written = "";
    const open = (): Promise<ByteEnd> => {
      const [ours, theirs] = rated ? ratedPair("serial:mad", "mad", baud) : memoryPair("tcp:mad:1", "mad");
      let input = "";
      theirs.onBytes((bytes) => {
        input += Buffer.from(bytes).toString("latin1");
        for (let end = input.indexOf("\r"); end >= 0; end = input.indexOf("\r")) {
          const command = input.slice(0, end);
          input = input.slice(end + 1);
          said += 1;
          const divisor = /^ATBRD([0-9A-F]{2})$/.exec(command)?.[1];
          if (divisor !== undefined) {
            theirs.write(reply(chance, command)).catch(() => undefined);
            // It may go there, or say so only; and back again at any time.
            if (chance.below(3) > 0) void theirs.setBaud?.(4_000_000 / parseInt(divisor, 16));
            theirs.write(Buffer.from("ELM327 v1.5\r")).catch(() => undefined);
            continue;
          }
          if (command === "ATZ" || chance.below(60) === 0) void theirs.setBaud?.(baud);
          clock.after(chance.below(30), () => {
            theirs.write(reply(chance, command)).catch(() => undefined);
          });
          if (chance.below(400) === 0) void theirs.close();
        }
      });
      return Promise.resolve(
        tapped(ours, (text) => {
          written += text;
        }),
      );
    };
    const sink = {
      zeroMs: 0,
      append: (event: RecordingEvent): void => reading.event(event),
    };
    const line = rated ? { baud, rates: new RateMemory() } : {};
    const session = new Session({ open, address: "tcp:mad:1", clock, sink, ...line });
    try {
      const connecting = session.connect();
      await clock.run(connecting, 600_000);
      session.start(sink);
      await clock.run(() => said >= repliesEach || session.status.link === "closed", 3_600_000);
    } catch (error) {
      if (!isCranksideError(error) || error.code === "clock-stuck") throw error;
    }
    await clock.run(session.close());
    const forbidden = forbiddenIn(written, { rate: rated });
    if (forbidden.length > 0) throw new Error(`it was asked ${JSON.stringify(forbidden)}`);
    return Math.max(1, said);
  },
};

function reply(chance: Chance, command: string): Uint8Array {
  const bare = command.length % 2 === 1 && command.startsWith("0") ? command.slice(0, -1) : command;
  if (command.startsWith("ATBRD")) {
    const said = Buffer.from("OK\r", "latin1");
    return chance.below(4) === 0 ? mutate(chance, said) : said;
  }
  const good = Buffer.from(`${sane[bare] ?? (command.startsWith("AT") ? "OK" : "NO DATA")}\r\r>`, "latin1");
  // Half of it is what a good adapter says: else nothing behind the set-up would ever be reached. The test bytes of a
  // faster line are eight names in a row.
  if (chance.below(command === "" || command === "ATI" ? 24 : 2) > 0) return good;
  const broken = chance.below(8) === 0 ? chance.bytes(chance.below(300)) : mutate(chance, good);
  return chance.below(3) === 0 ? broken : Buffer.concat([broken, Buffer.from(">")]);
}
