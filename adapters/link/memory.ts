import { CranksideError } from "../../shared/errors.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { EndState } from "./endState.ts";

/** Two ends of a line in memory. What one writes, the other hears in the same turn of the event loop, later. */
export function memoryPair(nameA: string, nameB: string): [ByteEnd, ByteEnd] {
  const a = new EndState(nameA);
  const b = new EndState(nameB);
  return [memoryEnd(a, b), memoryEnd(b, a)];
}

function memoryEnd(own: EndState, peer: EndState): ByteEnd {
  return {
    name: own.name,
    write(bytes) {
      const copy = bytes.slice();
      return own.write((done) => {
        soon(() => {
          peer.deliver(copy);
          done();
        });
      });
    },
    onBytes: (listener) => own.onBytes(listener),
    onClose: (listener) => own.onClose(listener),
    close() {
      own.shut(null);
      // After the bytes that were written before it.
      soon(() =>
        peer.shut(
          new CranksideError("link-failed", "the line was lost", {
            found: "the other end closed it",
            where: peer.name,
          }),
        ),
      );
      return Promise.resolve();
    },
  };
}

/** As queueMicrotask does, without what Node notes down for each of those. */
function soon(act: () => void): void {
  void settled.then(act);
}

const settled = Promise.resolve();
