/**
 * A crank from the key to the eye: the bench vehicle behind a real pseudo-terminal, the program in a process of its own,
 * a real Chromium. For each bus: key to the first pixel that tells of it, sag to "no speed", release to the final verdict.
 * The key turns and the sag begins in the same instant of the bench's clock, so both are counted from there.
 */
import type { Page } from "playwright-core";
import { attachAdapter, Bench } from "../../adapters/bench/index.ts";
import type { BenchModule } from "../../adapters/bench/vehicles.ts";
import { openSerial, pacedClock, realClock, serialPair } from "../../adapters/link/index.ts";
import { pause } from "../../shared/clock.ts";
import { protocols, type ProtocolId } from "../../shared/protocols.ts";
import { Pages } from "../support/pages.ts";
import { chromium, socat } from "../support/tools.ts";
import { quantile } from "./figures.ts";

const out = (text: string): void => void process.stdout.write(`  ${text}\n`);
const baud = 115_200;
const vehicle = "garden-van";
const heldMs = 3500;
const restMs = 6000;
const cranks = 5;
const buses: readonly ProtocolId[] = ["can11-500", "can29-500", "vpw", "pwm", "iso9141", "kwp-fast"];

interface Seen {
  readonly state: string;
  readonly final: boolean;
  readonly wall: number;
}

/** Notes each new word of the verdict with the wall time of the frame in which it is painted. */
const watch = `
  window.cranksSeen = [];
  (() => {
    let last = "";
    const look = () => {
      const at = document.querySelector("section[data-crank]");
      const now = at === null ? "" : at.dataset.crank + " " + at.dataset.final;
      if (now !== last && now !== "") {
        const [state, final] = now.split(" ");
        window.cranksSeen.push({ state, final: final === "true", wall: performance.timeOrigin + performance.now() });
      }
      last = now;
      requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  })();
`;

const wallMs = (): number => performance.timeOrigin + performance.now();

function addressOf(protocol: ProtocolId, index: number): number {
  const { idBits } = protocols[protocol];
  if (idBits === 11) return 0x7e8 + index;
  if (idBits === 29) return 0x18daf110 + 8 * index;
  return 0x10 + 8 * index;
}

interface Delays {
  readonly key: number[];
  readonly noSpeed: number[];
  readonly release: number[];
}

/** Some cranks on one bus with one fault: delays in milliseconds. */
async function onBus(protocol: ProtocolId, fault: string): Promise<Delays> {
  const clock = pacedClock(realClock);
  const bench = new Bench({ vehicle, faults: [{ name: fault, severity: 1 }], clock, seed: 7 });
  const modules = bench.vehicle.modules.map((row, i): BenchModule => ({
    ...row,
    address: addressOf(protocol, i),
  }));
  Object.defineProperty(bench, "vehicle", { value: { ...bench.vehicle, protocol, modules } });
  bench.act({ act: "key", to: "on" });
  const pair = await serialPair();
  const end = await openSerial({ path: pair.a, baud });
  attachAdapter(bench, end, clock, { baud });
  const pages = await Pages.start();
  const { page } = await pages.open();
  const delays: Delays = { key: [], noSpeed: [], release: [] };
  try {
    await page.evaluate(watch);
    await page.getByRole("radio", { name: "Serial port", exact: true }).check();
    await page.getByRole("textbox", { name: "Path" }).fill(pair.b);
    await page.getByRole("combobox", { name: "Baud rate" }).selectOption(String(baud));
    await page.getByRole("button", { name: "Connect and record" }).click();
    await page.getByRole("button", { name: /Stop recording/ }).waitFor({ timeout: 60_000 });
    await page
      .locator(".lane", { hasText: "volts (socket)" })
      .first()
      .locator(".label", { hasText: /\d V/ })
      .waitFor({ timeout: 60_000 });
    // The survey at key on asks for a while.
    await pause(clock, 15_000);
    for (let i = 0; i < cranks; i++) await oneCrank(page, bench, delays);
  } finally {
    await pages.stop();
    bench.stop();
    await end.close();
    await pair.close();
  }
  return delays;
}

async function oneCrank(page: Page, bench: Bench, delays: Delays): Promise<void> {
  await page.evaluate("window.cranksSeen.length = 0");
  const on = wallMs();
  bench.act({ act: "key", to: "crank" });
  // Not at the same place of the polling each time.
  await pause(realClock, heldMs + 37 * delays.key.length);
  const off = wallMs();
  bench.act({ act: "key", to: "on" });
  await pause(realClock, restMs);
  const seen = await page.evaluate<Seen[]>("window.cranksSeen");
  const first = seen.find(({ final }) => !final);
  const none = seen.find(({ state, final }) => !final && (state === "no-speed" || state === "no-answer"));
  const verdict = seen.find(({ final, wall }) => final && wall > off);
  delays.key.push(first === undefined ? Number.NaN : first.wall - on);
  if (none !== undefined) delays.noSpeed.push(none.wall - on);
  delays.release.push(verdict === undefined ? Number.NaN : verdict.wall - off);
}

function percentiles(ms: readonly number[]): string {
  if (ms.length === 0) return "never".padStart(21);
  const told = ms.filter((v) => !Number.isNaN(v));
  const missed = ms.length - told.length;
  const at = [0.5, 0.9, 1].map((q) => (quantile(told, q) / 1000).toFixed(2).padStart(7)).join("");
  return `${at}${missed > 0 ? ` (${missed} of ${ms.length} never)` : ""}`;
}

/** `only`: one bus by its name in the program. */
export async function measureCrank(only?: string): Promise<void> {
  if (chromium === null || socat === null) {
    out(`SKIPPED: ${chromium === null ? "chromium" : "socat"} is missing`);
    return;
  }
  const measured = buses.filter((bus) => only === undefined || bus === only);
  if (measured.length === 0) throw new Error(`no bus ${only ?? ""}; there are ${buses.join(", ")}`);
  out(`seconds, as percentiles 50, 90 and 100 of ${cranks} cranks of each kind`);
  out(`${"".padEnd(24)} key to first pixel | sag to "no speed" | release to verdict, turned | no speed`);
  for (const bus of measured) {
    const turned = await onBus(bus, "ignition-dead");
    const silent = await onBus(bus, "no-crank-signal");
    out(
      `${protocols[bus].name.padEnd(24)} ${percentiles([...turned.key, ...silent.key])} |${percentiles(silent.noSpeed)} |${percentiles(turned.release)} |${percentiles(silent.release)}`,
    );
  }
}
