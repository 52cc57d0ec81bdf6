import fc from "fast-check";
import { expect, test } from "vitest";
import { channelInfo, channels } from "../../shared/decode.ts";
import { guessChannel, mended, nameAndUnit, nearestChannels } from "../../shared/nameGuess.ts";
import { tradeNames } from "../../shared/tables/tradeNames.ts";

test.each([
  // Abbreviations of SAE J1979 and J1930.
  ["RPM", "engine-speed"],
  ["VSS", "vehicle-speed"],
  ["ECT", "coolant"],
  ["IAT", "intake-air"],
  ["MAF", "air-flow"],
  ["MAP", "manifold"],
  ["TP", "throttle"],
  ["APP_D", "pedal-d"],
  ["SHRTFT1", "trim-short-b1"],
  ["LONGFT2", "trim-long-b2"],
  ["O2S12", "oxygen-b1s2"],
  ["CATEMP21", "catalyst-b2s1"],
  ["SPARKADV", "advance"],
  ["VPWR", "module-voltage"],
  // As the trade says it.
  ["rpm", "engine-speed"],
  ["STFT B1", "trim-short-b1"],
  ["STFT Bank 2", "trim-short-b2"],
  ["LTFT1", "trim-long-b1"],
  ["Long Term Fuel Trim - Bank 2", "trim-long-b2"],
  ["O2 Sensor 1 Bank 2 Voltage", "oxygen-b2s1"],
  ["O2B1S2", "oxygen-b1s2"],
  ["Coolant Temp", "coolant"],
  ["eng_coolant_temp", "coolant"],
  ["EngineSpeed", "engine-speed"],
  ["Batt Volts", "module-voltage"],
  ["Ign Timing", "advance"],
  ["Accelerator Pedal Position E", "pedal-e"],
  ["ABSOLUTE_THROTTLE_B", "throttle-b"],
  ["Mass Air Flow Rate", "air-flow"],
  ["CATALYST_TEMPERATURE_BANK1_SENSOR2", "catalyst-b1s2"],
  // A channel's own name, as an export of the program has it.
  ["trim-long-b2", "trim-long-b2"],
] as const)("%s is %s, surely", (name, channel) => {
  expect(guessChannel(name)).toMatchObject({ channel, how: "sure" });
});

test.each([
  ["Speed", "vehicle-speed"],
  ["STFT", "trim-short-b1"],
  ["Lambda B1S1", "lambda-b1s1"],
  ["engine sped", "engine-speed"],
  ["Intake Manifld Pressure", "manifold"],
] as const)("%s may mean %s, which a person has to confirm", (name, channel) => {
  expect(guessChannel(name)).toMatchObject({ channel, how: "likely" });
});

test("what means nothing is no channel; what is near is named", () => {
  for (const name of ["Latitude", "Notes", "", "Gear", "x"]) expect(guessChannel(name).channel).toBeNull();
  expect(nearestChannels("fuel trim")).toEqual(expect.arrayContaining(["trim-short-b1", "trim-long-b1"]));
  expect(nearestChannels("engine-sped")[0]).toBe("engine-speed");
  expect(nearestChannels("coolent")[0]).toBe("coolant");
});

test("the bank that a name says is the one it gets, and the other one never", () => {
  for (const bank of ["1", "2"])
    for (const form of ["STFT B#", "STFT#", "STFT Bank #", "short term fuel trim bank#", "Bank # Short Trim"])
      expect(guessChannel(form.replace("#", bank)).channel, form).toBe(`trim-short-b${bank}`);
});

test("each row of the table leads to channels that there are, and its names back to it", () => {
  for (const { channel, names, standard } of tradeNames) {
    const made = channel.replace("{b}", "1").replace("{s}", "1").replace("{x}", "d");
    const other = made.replace("-d", "-b");
    expect(channelInfo(made) ?? channelInfo(other), channel).toBeDefined();
    for (const name of [...names, ...standard]) {
      const filled = name
        .replace("{b}", "1")
        .replace("{s}", "1")
        .replace("{x}", channelInfo(made) ? "D" : "B");
      const { channel: found, nearest } = guessChannel(filled);
      expect([found, ...nearest], filled).toContain(channelInfo(made) ? made : other);
    }
  }
});

test("a channel's own name in the program leads to it, or to one of the same name", () => {
  for (const { channel, name } of channels) {
    const found = guessChannel(name).channel;
    expect(channelInfo(found ?? "")?.name, channel).toBe(name);
  }
});

test("units in brackets are taken apart; a text encoded twice is as it was meant, any other stays", () => {
  expect(nameAndUnit("Coolant [Â°C]")).toEqual({ name: "Coolant", unit: "°C" });
  expect(nameAndUnit("Speed (km/h)")).toEqual({ name: "Speed", unit: "km/h" });
  expect(nameAndUnit("Speed, mph")).toEqual({ name: "Speed", unit: "mph" });
  expect(mended("KÃ¼hlmittel")).toBe("Kühlmittel");
  expect(mended("â‚¬")).toBe("€");
  for (const plain of ["°C", "Kühlmittel", "Âge", "naïve"]) expect(mended(plain)).toBe(plain);
});

test("whatever a column is called, the guess is a channel or none, and never throws", () => {
  const word = fc.oneof(
    fc.string(),
    fc.constantFrom("bank", "1", "temp", "o2", "sensor", "b2s1", "fuel", "trim"),
  );
  fc.assert(
    fc.property(fc.array(word, { maxLength: 6 }), (words) => {
      const { channel, nearest } = guessChannel(words.join(" "));
      for (const one of [...nearest, ...(channel === null ? [] : [channel])])
        expect(channelInfo(one)).toBeDefined();
      expect(nearest).not.toContain(channel);
    }),
  );
});
