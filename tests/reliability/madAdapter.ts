/** An adapter gone mad behind the real session: whatever it says, the session lives and nothing forbidden is asked. */
import { memoryPair, VirtualClock } from "../../adapters/link/index.ts";
import { Session } from "../../adapters/polling/session.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { formatName, formatVersion, headerLine, type RecordingEvent } from "../../shared/recording/format.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { Reading } from "../../src/reading/index.ts";
import { mayLeave } from "../support/mayLeave.ts";
import type { FuzzTarget } from "./fuzz.ts";
import { mutate, type Chance } from "./mutate.ts";

const sane: Readonly<Record<string, string>> = {
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
    let said = 0;
    let forbidden = "";
    const open = (): Promise<ByteEnd> => {
      const [ours, theirs] = memoryPair("tcp:mad:1", "mad");
      let input = "";
      theirs.onBytes((bytes) => {
        input += Buffer.from(bytes).toString("latin1");
        for (let end = input.indexOf("\r"); end >= 0; end = input.indexOf("\r")) {
          const command = input.slice(0, end);
          input = input.slice(end + 1);
          if (!mayLeave(command)) forbidden ||= command;
          said += 1;
          clock.after(chance.below(30), () => {
            theirs.write(reply(chance, command)).catch(() => undefined);
          });
          if (chance.below(400) === 0) void theirs.close();
        }
      });
      return Promise.resolve(ours);
    };
    const sink = {
      zeroMs: 0,
      append: (event: RecordingEvent): void => reading.event(event),
    };
    const session = new Session({ open, address: "tcp:mad:1", clock, sink });
    try {
      const connecting = session.connect();
      await clock.run(connecting, 600_000);
      session.start(sink);
      await clock.run(() => said >= repliesEach || session.status.link === "closed", 3_600_000);
    } catch (error) {
      if (!isCranksideError(error) || error.code === "clock-stuck") throw error;
    }
    await clock.run(session.close());
    if (forbidden !== "") throw new Error(`it was asked ${JSON.stringify(forbidden)}`);
    return Math.max(1, said);
  },
};

function reply(chance: Chance, command: string): Uint8Array {
  const bare = command.length % 2 === 1 && command.startsWith("0") ? command.slice(0, -1) : command;
  const good = Buffer.from(`${sane[bare] ?? (command.startsWith("AT") ? "OK" : "NO DATA")}\r\r>`, "latin1");
  // Half of it is what a good adapter says: else nothing behind the set-up would ever be reached.
  if (chance.below(2) === 0) return good;
  const broken = chance.below(8) === 0 ? chance.bytes(chance.below(300)) : mutate(chance, good);
  return chance.below(3) === 0 ? broken : Buffer.concat([broken, Buffer.from(">")]);
}
