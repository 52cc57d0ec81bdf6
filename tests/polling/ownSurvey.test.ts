/** The session's own questions to every module: at key on, beside the lanes, and once more at the end. */
import { afterEach, describe, expect, test } from "vitest";
import { gearModule, engineModule, type PeerOptions } from "../support/peer.ts";
import type { SessionOptions } from "../../adapters/polling/session.ts";
import { ownSurveyWaits } from "../../adapters/polling/ownSurvey.ts";
import { closed, listening, type Rig } from "./support.ts";

const rigs: Rig[] = [];

async function own(
  peer: Partial<Omit<PeerOptions, "clock">> = {},
  session: Partial<SessionOptions> = {},
): Promise<Rig> {
  const rig = await listening(peer, { survey: true, ...session });
  rigs.push(rig);
  return rig;
}

afterEach(async () => {
  for (const rig of rigs.splice(0)) await closed(rig);
});

const isLane = (ask: string): boolean => ask === "ATRV" || /^01([0-9A-F]{2})+1$/.test(ask);
const isQuestion = (ask: string): boolean => /^(03|07|0A|02|09|06|0101$)/.test(ask);

describe("at key on", () => {
  test("every module is asked into the recording, and between two questions the lanes go on", async () => {
    const { clock, sink } = await own();
    await clock.pass(8000);
    const asked = sink.asked();
    for (const question of ["0101", "03", "07", "0A", "0902"]) expect(asked).toContain(question);
    const first = asked.indexOf("0101");
    const last = asked.findLastIndex(isQuestion);
    const lanes = asked.slice(first, last).filter(isLane).length;
    expect(lanes).toBeGreaterThan(5);
    // Two questions never follow each other.
    for (let i = first; i < last; i++)
      if (isQuestion(asked[i] ?? "")) expect(isQuestion(asked[i + 1] ?? ""), asked[i + 1]).toBe(false);
    // Once is enough.
    expect(asked.filter((ask) => ask === "03")).toHaveLength(1);
  });

  test("nobody who does not want it is asked", async () => {
    const { clock, sink, session } = await own({}, { survey: false });
    await clock.pass(8000);
    await clock.run(session.lastSurvey(5000));
    expect(sink.asked().filter(isQuestion)).toEqual([]);
  });

  test("a module that boots seconds later is met, asked what it supports, and asked for its codes", async () => {
    const late = { ...gearModule, replies: { ...gearModule.replies, "03": "43010700" } };
    const { clock, sink, peer, session } = await own();
    await clock.pass(2000);
    peer.modules = [engineModule, late];
    await clock.pass(ownSurveyWaits.bootMs + 6000);
    expect([...session.status.modules.keys()].sort()).toEqual([engineModule.address, late.address].sort());
    const codes = sink.exchanges.filter(({ ask }) => ask === "03");
    expect(codes).toHaveLength(2);
    expect(codes.at(-1)?.lines.join("")).toContain("43010700");
    const told = sink.links.filter(({ state }) => state === "modules").at(-1);
    expect(Object.keys(told?.modules ?? {})).toHaveLength(2);
  });

  test("from the first sag on nothing is asked but lanes, and the rest follows when the starter is at rest", async () => {
    const { clock, sink, peer } = await own();
    await clock.pass(250);
    peer.volts = "9.6V";
    const sagged = clock.now();
    await clock.pass(4000);
    const seen = sink.exchanges.find(
      ({ t, ask, lines }) => t >= sagged && ask === "ATRV" && lines.join("").includes("9.6"),
    );
    if (seen === undefined) throw new Error("no sag was seen");
    expect(sink.asked(seen.t + 1).filter(isQuestion)).toEqual([]);
    expect(sink.asked(0, sagged).filter(isQuestion).length).toBeGreaterThan(0);
    peer.volts = "12.4V";
    const rested = clock.now();
    await clock.pass(8000);
    expect(sink.asked(rested).filter(isQuestion).length).toBeGreaterThan(3);
  });

  test("while a crank is waited for nothing is asked either", async () => {
    const { clock, sink, session } = await own();
    session.arm();
    const from = clock.now();
    await clock.pass(5000);
    // One may have been on its way.
    expect(sink.asked(from).filter(isQuestion).length).toBeLessThanOrEqual(1);
  });

  test("after the key was off it is asked anew; after a dip of a second it is not", async () => {
    const { clock, sink, peer } = await own();
    await clock.pass(8000);
    const away = async (ms: number): Promise<void> => {
      peer.faults.add("unplugged");
      await clock.pass(ms);
      peer.faults.delete("unplugged");
      await clock.pass(8000);
    };
    await away(1500);
    expect(sink.asked().filter((ask) => ask === "03")).toHaveLength(1);
    await away(ownSurveyWaits.keyOffMs + 4000);
    expect(sink.asked().filter((ask) => ask === "03")).toHaveLength(2);
  });

  test("a recording that begins later holds the answers too", async () => {
    const { clock, session, sink } = await own();
    await clock.pass(8000);
    await clock.run(session.pause());
    const events = sink.events.length;
    const next = { zeroMs: clock.now(), append: sink.append.bind(sink) };
    session.start(next);
    await clock.pass(8000);
    const asked = sink.events.slice(events).flatMap((e) => (e.k === "x" ? [e.ask] : []));
    expect(asked).toContain("03");
  });
});

describe("at the end", () => {
  test("what was asked a moment ago is not asked again, unless a starter turned since", async () => {
    const { clock, session, sink, peer } = await own();
    await clock.pass(8000);
    const count = (): number => sink.asked().filter((ask) => ask === "03").length;
    await clock.run(session.lastSurvey(10_000));
    expect(count()).toBe(1);
    peer.volts = "9.6V";
    await clock.pass(2000);
    // Never while cranking.
    await clock.run(session.lastSurvey(10_000));
    expect(count()).toBe(1);
    peer.volts = "12.4V";
    await clock.pass(4000);
    await clock.run(session.lastSurvey(10_000));
    expect(count()).toBe(2);
    expect(session.status.doing).toBe("listening");
  });

  test("it takes no longer than it may, and ends at once when nobody waits", async () => {
    const { clock, session, sink } = await own({ faults: ["slow"] });
    await clock.pass(ownSurveyWaits.freshMs + 60_000);
    const from = clock.now();
    await clock.run(session.lastSurvey(2000));
    expect(clock.now() - from).toBeLessThan(4000);
    const again = clock.now();
    const cut = session.lastSurvey(60_000);
    await clock.pass(500);
    session.cutLastSurvey();
    await clock.run(cut);
    expect(clock.now() - again).toBeLessThan(4000);
    expect(sink.asked(again - sink.zeroMs).filter(isQuestion).length).toBeLessThan(4);
  });
});
