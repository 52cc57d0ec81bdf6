import fc from "fast-check";
import { expect, test } from "vitest";
import { eventLine, formatVersion, headerLine, roundMs, type Header } from "../../shared/recording/format.ts";
import { parseEvent, parseHeader } from "../../shared/recording/parse.ts";
import { anyEvent } from "./anyEvent.ts";

test("every event is written as one line and read back the same", () => {
  fc.assert(
    fc.property(anyEvent, (event) => {
      const line = eventLine(event);
      expect(line.indexOf("\n")).toBe(line.length - 1);
      expect(line.startsWith(`{"t":${roundMs(event.t)},"k":"${event.k}"`)).toBe(true);
      expect(parseEvent(line.slice(0, -1))).toEqual({ kind: "event", event });
    }),
  );
});

test("times are written to the microsecond", () => {
  expect(eventLine({ k: "stray", t: 1234.56789, text: "" })).toBe('{"t":1234.568,"k":"stray","text":""}\n');
});

test("no line makes the parser throw", () => {
  fc.assert(
    fc.property(fc.oneof(fc.string({ unit: "binary" }), fc.json()), (line) => {
      expect(["event", "unknown", "wrong"]).toContain(parseEvent(line).kind);
    }),
  );
  fc.assert(
    fc.property(
      fc.constantFrom("x", "stray", "mark", "link", "s", "facts", "notice", "end"),
      fc.object(),
      (k, fields) => {
        expect(["event", "wrong"]).toContain(parseEvent(JSON.stringify({ ...fields, t: 1, k })).kind);
      },
    ),
  );
});

const lines: Readonly<Record<string, string>> = {
  x: '{"t":1,"k":"x","ask":"ATZ","lines":[],"first":null,"end":3,"err":"silent"}',
  stray: '{"t":1,"k":"stray","text":""}',
  mark: '{"t":1,"k":"mark","id":"m","at":0,"until":2,"label":"","removed":true}',
  link: '{"t":1,"k":"link","state":"lost","why":"","adapter":{"says":"","refuses":[],"baud":9600},"protocol":"vpw","modules":{"10":[12]}}',
  s: '{"t":1,"k":"s","ch":"load","v":3,"u":"%"}',
  facts: '{"t":1,"k":"facts","facts":{"complaint":"","vehicle":{"cylinders":4}}}',
  notice: '{"t":1,"k":"notice","text":"","torn":0}',
  end: `{"t":1,"k":"end","sha256":"${"a".repeat(64)}"}`,
};
const mayBeMissing = new Set(["err", "until", "removed", "why", "adapter", "protocol", "modules", "torn"]);

test.each(Object.keys(lines))(
  "%s: each field of a wrong type, or missing, is a wrong line that names it",
  (kind) => {
    const good = JSON.parse(lines[kind] ?? "") as Record<string, unknown>;
    expect(parseEvent(JSON.stringify(good)).kind).toBe("event");
    for (const field of Object.keys(good)) {
      if (field === "k") continue;
      for (const wrong of [{ a: [] }, false, "\u0001", [[]]]) {
        // Any text will do where a text is asked for.
        if (
          typeof wrong === "string" &&
          typeof good[field] === "string" &&
          !["state", "protocol", "sha256"].includes(field)
        )
          continue;
        if (["modules", "facts"].includes(field) && typeof wrong === "object" && "a" in wrong) continue;
        const parsed = parseEvent(JSON.stringify({ ...good, [field]: wrong }));
        expect(parsed, `${field} ${JSON.stringify(wrong)}`).toMatchObject({ kind: "wrong" });
        if (parsed.kind === "wrong") expect(parsed.reason).toContain(field);
      }
      const rest = Object.fromEntries(Object.entries(good).filter(([name]) => name !== field));
      expect(parseEvent(JSON.stringify(rest)).kind, field).toBe(mayBeMissing.has(field) ? "event" : "wrong");
    }
  },
);

test("numbers that are no times, values or counts are wrong", () => {
  for (const [kind, field, value] of [
    ["x", "t", -1],
    ["x", "first", -0.5],
    ["mark", "at", -1],
    ["notice", "torn", 1.5],
    ["notice", "torn", -1],
    ["end", "sha256", "A".repeat(64)],
    ["end", "sha256", "a".repeat(63)],
    ["link", "state", "gone"],
    ["link", "protocol", "toString"],
    ["link", "modules", { "10": [1.5] }],
    ["facts", "facts", { vehicle: { cylinders: "four" } }],
    ["facts", "facts", { complaint: 4 }],
  ] as const) {
    const line = JSON.stringify({ ...(JSON.parse(lines[kind] ?? "") as object), [field]: value });
    expect(parseEvent(line).kind, `${kind} ${field}`).toBe("wrong");
  }
  expect(parseEvent('{"t":1e999,"k":"stray","text":""}').kind).toBe("wrong");
  expect(parseEvent('{"t":1,"k":"s","ch":"load","v":1e999,"u":"%"}').kind).toBe("wrong");
});

test("fields that a later writer adds do not make a line wrong", () => {
  for (const [kind, line] of Object.entries(lines)) {
    const more = { ...(JSON.parse(line) as object), later: { and: "more" } };
    expect(parseEvent(JSON.stringify(more)).kind, kind).toBe("event");
  }
  const facts = { t: 1, k: "facts", facts: { urgency: 3, vehicle: { cylinders: 4, doors: 5 } } };
  expect(parseEvent(JSON.stringify(facts)).kind).toBe("event");
});

test("kinds named like what every object has are unknown kinds", () => {
  for (const k of ["toString", "constructor", "__proto__", "hasOwnProperty"]) {
    expect(parseEvent(JSON.stringify({ t: 1, k }))).toMatchObject({ kind: "unknown", event: { t: 1, k } });
  }
});

const header: Header = {
  format: "crankside-recording",
  version: 1,
  started: "2024-03-02T09:00:00.000+01:00",
  from: "bench:cart",
  adapter: { says: "adapter v1.5", refuses: ["ATAT2"], baud: 38400 },
  protocol: "kwp-fast",
  vehicle: { name: "cart", cylinders: 3 },
  invented: true,
  writer: "test",
};

test("a header is read back the same", () => {
  expect(parseHeader(headerLine(header).slice(0, -1), "x")).toEqual(header);
});

test("what is not needed for reading may be missing or wrong in a header", () => {
  const bare = { format: header.format, version: 1, started: header.started };
  expect(parseHeader(JSON.stringify(bare), "x")).toEqual({
    ...bare,
    from: "unknown",
    adapter: null,
    protocol: null,
    vehicle: {},
    invented: false,
    writer: "unknown",
  });
  const odd = { ...header, adapter: 5, protocol: "morse", vehicle: { doors: 5, cylinders: 3 }, later: 1 };
  expect(parseHeader(JSON.stringify(odd), "x")).toMatchObject({
    adapter: null,
    protocol: null,
    vehicle: { cylinders: 3 },
  });
});

test.each([
  ["nothing", "", "not-a-recording"],
  ["blanks", "   ", "not-a-recording"],
  ["text", "hello", "not-a-recording"],
  ["null", "null", "not-a-recording"],
  ["a list", "[]", "not-a-recording"],
  ["another format", JSON.stringify({ ...header, format: "x" }), "not-a-recording"],
  ["no version", JSON.stringify({ ...header, version: undefined }), "not-a-recording"],
  ["version 0", JSON.stringify({ ...header, version: 0 }), "not-a-recording"],
  ["version 1.5", JSON.stringify({ ...header, version: 1.5 }), "not-a-recording"],
  ["no start", JSON.stringify({ ...header, started: "yesterday" }), "not-a-recording"],
  ["the next version", JSON.stringify({ ...header, version: formatVersion + 1 }), "newer-format"],
])("%s is no header", (_, line, code) => {
  expect(() => parseHeader(line, "the file")).toThrow(expect.objectContaining({ code }));
});

test("the message says where", () => {
  expect(() => parseHeader("hello", "/some/file")).toThrow(
    expect.objectContaining({ context: expect.objectContaining({ where: "/some/file" }) as object }),
  );
});

test("a time beyond some months is no reading of a vehicle; a mark may be added years later", () => {
  const lines = [
    '{"t":1e300,"k":"x","ask":"ATRV","lines":[],"first":null,"end":null}',
    '{"t":1000000000000,"k":"x","ask":"ATRV","lines":[],"first":null,"end":null}',
    '{"t":1,"k":"x","ask":"ATRV","lines":[],"first":1e300,"end":null}',
    '{"t":1,"k":"x","ask":"ATRV","lines":[],"first":1,"end":1e12}',
    '{"t":1e12,"k":"s","ch":"load","v":1,"u":"%"}',
    '{"t":1e12,"k":"link","state":"opened"}',
    '{"t":1,"k":"mark","id":"a","at":1e300,"label":"x"}',
  ];
  for (const line of lines) expect(parseEvent(line).kind, line).toBe("wrong");
  expect(parseEvent('{"t":1e12,"k":"mark","id":"a","at":1,"label":"x"}').kind).toBe("event");
  expect(parseEvent('{"t":9999999999,"k":"s","ch":"load","v":1,"u":"%"}').kind).toBe("event");
});
