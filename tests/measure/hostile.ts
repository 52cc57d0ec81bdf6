/**
 * A long run against a hostile line: each fault alone, all at once, and lines that are slow, until enough was drawn and
 * asked. `hostile:SHARE` spoils that part of the replies, 0.2 when not said.
 */
import { hostileFaults, type HostileFault } from "../support/hostile.ts";
import { runHostile } from "../support/hostileRun.ts";

const enoughDrawn = 100_000;
const enoughRequests = 10_000;
const forMs = 180_000;

interface Kind {
  readonly name: string;
  readonly faults: readonly HostileFault[];
  readonly lagMs?: number;
}

const kinds: readonly Kind[] = [
  ...hostileFaults.map((fault) => ({ name: fault, faults: [fault] })),
  { name: "all at once", faults: hostileFaults },
  { name: "a slow line", faults: hostileFaults, lagMs: 300 },
  { name: "a very slow line", faults: hostileFaults, lagMs: 1400 },
];

export async function measureHostile(part?: string): Promise<void> {
  const share = part === undefined ? 0.2 : Number(part);
  const total = { drawn: 0, wrong: 0, changed: 0, requests: 0, others: 0, spoilt: 0, minutes: 0 };
  for (let seed = 1; total.drawn < enoughDrawn || total.requests < enoughRequests; seed++) {
    for (const [i, { name, faults, lagMs = 0 }] of kinds.entries()) {
      const result = await runHostile({ seed: seed * 100 + i, faults, share, lagMs, forMs });
      const { drawn, wrong, changed, requests, others, spoilt, minutes } = result;
      if (seed === 1 || wrong.length > 0 || others.length > 0)
        process.stdout.write(
          `  ${name.padEnd(18)} seed ${seed * 100 + i}: ${drawn} values, ${wrong.length} wrong, ${changed} of changed bytes; ${requests} requests, ${others.length} on no list; ${spoilt} faults\n`,
        );
      for (const line of wrong.slice(0, 3)) process.stdout.write(`    ${line}\n`);
      for (const line of others.slice(0, 3)) process.stdout.write(`    on no list: ${line}\n`);
      total.drawn += drawn;
      total.wrong += wrong.length;
      total.changed += changed;
      total.requests += requests;
      total.others += others.length;
      total.spoilt += spoilt;
      total.minutes += minutes;
    }
  }
  const { drawn, wrong, changed, requests, others, spoilt, minutes } = total;
  process.stdout.write(
    `  ${drawn} values drawn in ${minutes.toFixed(0)} minutes at the line, ${spoilt} faults: ${wrong} wrong, ${changed} of changed bytes that no sum covers (apart)\n` +
      `  ${requests} requests on the bus: ${others} on no list\n`,
  );
}
