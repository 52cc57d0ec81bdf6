/** Texts that carry a zone, wherever the machine is that runs the tests. */
import { expect, test } from "vitest";
import { zonedText } from "../src/page/lib/job/jobTime.ts";
import { fileStamp, isoWithZone } from "../src/recorder/names.ts";
import { inZone, summer, winter, zonedTimes } from "./support/zone.ts";

test.each(zonedTimes)(
  "in %s a time carries its zone, and a file's name the local time",
  (zone, cold, warm) => {
    for (const [wall, text] of [
      [winter, cold],
      [summer, warm],
    ] as const) {
      expect(inZone(zone, () => isoWithZone(wall))).toBe(text);
      expect(Date.parse(text)).toBe(wall);
      const [day = "", time = ""] = text.slice(0, 19).split("T");
      expect(inZone(zone, () => fileStamp(wall))).toBe(`${day}-${time.replaceAll(":", "")}`);
    }
  },
);

test.each(zonedTimes)("in %s what the page writes on the sheet carries its zone", (zone, cold, warm) => {
  expect(inZone(zone, () => zonedText(winter))).toBe(cold);
  expect(inZone(zone, () => zonedText(summer))).toBe(warm);
});
