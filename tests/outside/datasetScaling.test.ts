/**
 * Every number in an open data set of a real car is an exact code of the standard scalings, and our tables turn
 * codes into those numbers and back. Source: data set carOBD (repository eron93br/carOBD, commit bf09e1c); cited as
 * "Detecting Anomalies in the Engine Coolant Sensor Using One-Class Classifiers", IEEE, document 8891367.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { describe, expect, test } from "vitest";
import { headerName, readMapFile } from "../../src/recorder/import/map.ts";
import { channelInfo, decodeParameter, parameterOf, scale, unscale } from "../../shared/decode.ts";
import type { Parameter, Value } from "../../shared/parameters.ts";
import { dataSet } from "../support/tools.ts";

const map = readMapFile(join(import.meta.dirname, "../../recordings/maps/held-27-columns.json"));

/**
 * How far a six-decimal number may be from its code: nothing where the scaling is a binary fraction or the file
 * carries all digits, else what single precision leaves, for that is what the logger computed with.
 */
function sixDecimals(value: Value, number: number): number {
  if (value.unit === "V") return 2e-15;
  const binary = value.div === undefined || Number.isInteger(Math.log2(value.div));
  return binary ? 0 : Math.abs(number) * 2 ** -23 + 5e-7;
}

function rowOf(channel: string): { value: Value; parameter: Parameter } {
  const value = channelInfo(channel)?.value;
  const parameter = parameterOf(channel);
  if (value === undefined || parameter === undefined) throw new Error(`${channel} is not of service 01`);
  return { value, parameter };
}

/** The data bytes of a reply that carries this code, written without the decoder's table of scalings. */
function bytesOf(parameter: Parameter, value: Value, code: number): Uint8Array {
  const data = new Uint8Array(parameter.bytes);
  for (let i = 0; i < value.len; i++) data[value.at + i] = (code >> (8 * (value.len - 1 - i))) & 0xff;
  return data;
}

/** Half a unit of the last digit where a file gives five significant digits only. */
function fiveDigits(number: number): number {
  return number === 0 ? 0 : 0.5 * 10 ** (Math.floor(Math.log10(Math.abs(number))) - 4) * 1.0001;
}

describe.skipIf(dataSet === null)("open data set carOBD", () => {
  const files = dataSet === null ? [] : readdirSync(dataSet).filter((name) => name.endsWith(".csv.gz"));

  test("all 40 files are there", () => {
    expect(files).toHaveLength(40);
  });

  test.each(files)("%s: every value is an exact code, both ways", (file) => {
    const lines = gunzipSync(readFileSync(join(dataSet ?? "", file)))
      .toString("latin1")
      .split(/\r?\n/);
    const names = (lines[0] ?? "").split(",").map(headerName);
    const short = !(lines[1] ?? "").includes(".000000");
    let checked = 0;
    for (const { column, channel } of map.columns) {
      const { value, parameter } = rowOf(channel);
      const place = names.indexOf(column);
      expect(place).toBeGreaterThan(0);
      const seen = new Set<string>();
      for (const line of lines.slice(1)) {
        const cell = line.split(",")[place]?.trim() ?? "";
        if (cell !== "") seen.add(cell);
      }
      for (const cell of seen) {
        const number = Number(cell);
        const allowed = short ? fiveDigits(number) : sixDecimals(value, number);
        const code = Math.round(unscale(value, number));
        expect(code).toBeGreaterThanOrEqual(0);
        expect(code).toBeLessThan(256 ** value.len);
        expect(Math.abs(scale(value, code) - number), `${channel} ${cell}`).toBeLessThanOrEqual(allowed);
        const decoded = decodeParameter(parameter, bytesOf(parameter, value, code));
        expect(decoded.find((d) => d.value.channel === channel)?.number).toBe(scale(value, code));
        checked += 1;
      }
    }
    expect(checked).toBeGreaterThan(200);
  });
});
