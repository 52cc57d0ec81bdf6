import { describe, expect, test } from "vitest";
import { firstFocus, foldFocus, type FocusInput, type FocusState } from "../../adapters/polling/focus.ts";

/** Readings ten times a second: seconds, volts, engine speed (null: not answered). */
function drive(...pieces: readonly [seconds: number, volts: number, rpm: number | null][]): FocusState[] {
  let state = firstFocus;
  let now = 0;
  const states: FocusState[] = [];
  for (const [seconds, volts, rpm] of pieces) {
    for (let i = 0; i < seconds * 10; i++) {
      const inputs: FocusInput[] = [
        { kind: "volts", now, volts },
        { kind: "speed", now: now + 50, rpm },
      ];
      for (const input of inputs) states.push((state = foldFocus(state, input)));
      now += 100;
    }
  }
  return states;
}

const fociOf = (states: readonly FocusState[]): string[] =>
  states.map(({ focus }) => focus).filter((focus, i, all) => focus !== all[i - 1]);

describe("the focus follows the engine", () => {
  test("a start: rest, crank, run", () => {
    expect(fociOf(drive([3, 12.5, 0], [1, 10.2, 210], [5, 14.1, 900]))).toEqual([
      "survey",
      "cranking",
      "running",
    ]);
  });

  test("the very first low reading is enough", () => {
    const states = drive([1, 12.5, 0], [0.1, 11.4, 0]);
    expect(states.at(-2)?.focus).toBe("cranking");
  });

  test("a speed alone is enough: a strong battery sags little", () => {
    expect(fociOf(drive([1, 12.7, 0], [1, 12.0, 180]))).toEqual(["survey", "cranking"]);
  });

  test("a sag without any speed is a crank too, and is left when the starter is let go", () => {
    expect(fociOf(drive([2, 12.5, 0], [4, 10.0, 0], [3, 12.3, 0]))).toEqual(["survey", "cranking", "survey"]);
  });

  test("a module that falls silent while cranking does not end it", () => {
    const states = drive([2, 12.5, 0], [3, 9.5, null]);
    expect(states.at(-1)?.focus).toBe("cranking");
  });

  test("three cranks with pauses", () => {
    const states = drive([2, 12.5, 0], [2, 10, 190], [4, 12.4, 0], [2, 10, 190], [4, 12.3, 0], [2, 9.9, 180]);
    expect(fociOf(states)).toEqual(["survey", "cranking", "survey", "cranking", "survey", "cranking"]);
  });

  test("a kick to 500 rpm that dies at once is still cranking", () => {
    expect(fociOf(drive([1, 12.5, 0], [1, 10, 200], [0.3, 11, 520], [1, 10, 200]))).toEqual([
      "survey",
      "cranking",
    ]);
  });

  test("shutting off is no sag: the alternator's voltage goes, the battery's stays", () => {
    expect(fociOf(drive([2, 14.3, 850], [5, 12.6, 0]))).toEqual(["survey", "running", "survey"]);
  });

  test("listening begins with the engine running", () => {
    expect(fociOf(drive([3, 14.2, 800])).at(-1)).toBe("running");
  });

  test("glow plugs pull the voltage down for long: that is given up", () => {
    const states = drive([2, 12.5, 0], [40, 11.3, 0]);
    expect(states.at(-1)?.focus).toBe("survey");
  });

  test("a battery that runs down slowly with the key on is no crank", () => {
    let state = firstFocus;
    for (let now = 0, volts = 12.6; now < 1_200_000; now += 500, volts -= 0.001) {
      state = foldFocus(state, { kind: "volts", now, volts });
      expect(state.focus).toBe("survey");
    }
  });
});

describe("armed", () => {
  test("waits in cranking focus as long as it takes, and lets go after one crank", () => {
    let state = foldFocus(firstFocus, { kind: "arm", now: 0, armed: true });
    const see = (seconds: number, volts: number, rpm: number, from: number): void => {
      for (let i = 0; i < seconds * 10; i++) {
        state = foldFocus(state, { kind: "volts", now: from + i * 100, volts });
        state = foldFocus(state, { kind: "speed", now: from + i * 100 + 50, rpm });
      }
    };
    see(30, 12.5, 0, 0);
    expect(state).toMatchObject({ focus: "cranking", armed: true });
    see(2, 10, 180, 30_000);
    see(3, 12.3, 0, 32_000);
    expect(state).toMatchObject({ focus: "survey", armed: false });
  });

  test("can be taken back", () => {
    const armed = foldFocus(firstFocus, { kind: "arm", now: 0, armed: true });
    let state = foldFocus(armed, { kind: "arm", now: 10, armed: false });
    for (let now = 100; now < 3000; now += 100) state = foldFocus(state, { kind: "volts", now, volts: 12.5 });
    expect(state).toMatchObject({ focus: "survey", armed: false });
  });
});
