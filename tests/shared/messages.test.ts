import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { CranksideError } from "../../shared/errors.ts";
import {
  readMessage,
  recordingListSchema,
  requestSchema,
  serverMessageSchema,
  type PageRequest,
  type ServerMessage,
  type Status,
} from "../../shared/messages.ts";

const facts = { complaint: "stalls", vehicle: { name: "cart", cylinders: 4, displacementL: 1.6 } };

const requests: readonly PageRequest[] = [
  { type: "ports", id: 1 },
  { type: "connect", id: 2, address: "tcp:127.0.0.1:35000", facts },
  { type: "disconnect", id: 3 },
  { type: "stop", id: 4 },
  { type: "start", id: 5, facts: {} },
  { type: "channels", id: 6, channels: ["engine-speed", "load"] },
  { type: "channels", id: 6, channels: [], pinned: ["load"] },
  { type: "mark", id: 7, recording: null, mark: { id: "m1", at: 10, until: 20, label: "fuel added" } },
  { type: "mark", id: 8, recording: "a.ndjson", mark: { id: "m1", at: 10, label: "", removed: true } },
  { type: "facts", id: 9, recording: "a.ndjson", facts },
  { type: "bench", id: 10, act: { act: "key", to: "crank" } },
  { type: "bench", id: 11, act: { act: "pedal", to: 0.5 } },
  { type: "move", id: 13 },
  { type: "take", id: 14 },
  { type: "arm", id: 16, on: true },
  { type: "survey", id: 17 },
  { type: "clear", id: 18, typed: "erase no code, readiness" },
  { type: "close-lan", id: 15 },
  { type: "guests-enter", id: 16, on: true },
  { type: "bench", id: 12, act: { act: "fault", name: "weak-battery", severity: 1 } },
];

const status: Status = {
  link: "listening",
  address: "bench:cart",
  doing: "",
  failure: { code: "port-busy", message: "the port is busy" },
  adapter: "adapter v1.5",
  protocol: "can11-500",
  modules: [{ address: "7E8", pids: [4, 12] }],
  recording: {
    file: "a.ndjson",
    started: "2024-03-02T09:00:00Z",
    bytes: 12,
    saved: false,
    failure: { code: "file-unwritable", message: "the disk is full" },
    waiting: 40,
    lost: 0,
    spare: "/home/x/spare",
  },
  battery: { volts: 11.8, slowed: true },
  channels: ["engine-speed"],
  focus: "cranking",
  armed: true,
  strength: false,
  bench: { vehicle: "cart", key: "on", pedal: 0, faults: [], hidden: false },
};
const idle: Status = { ...status, link: "none", address: null, failure: null, recording: null, bench: null };

const answers: readonly ServerMessage[] = [
  {
    type: "hello",
    version: "0.1.0",
    folder: "/home/x/recordings",
    bench: [{ id: "cart", name: "Cart", about: "", faults: [], cases: [], cylinders: 4, gauges: [] }],
  },
  { type: "status", status },
  { type: "status", status: idle },
  { type: "you", role: "mark", holder: "the page opened at 9:00", beside: null },
  { type: "lan", lan: { url: "http://192.168.0.9:4173/", code: "AB2CDEFG", guests: 0 } },
  { type: "lan", lan: null },
  { type: "done", id: 1, ports: [{ path: "/dev/ttyUSB0", about: "" }] },
  { type: "done", id: 2 },
  { type: "failed", id: 3, failure: { code: "port-busy", message: "" } },
];

test.each(requests.map((r) => [r.type, r] as const))("a request to %s travels unchanged", (_, request) => {
  expect(readMessage(requestSchema, JSON.stringify(request))).toEqual(request);
});

test.each(answers.map((a) => [a.type, a] as const))("an answer of type %s travels unchanged", (_, answer) => {
  expect(readMessage(serverMessageSchema, JSON.stringify(answer))).toEqual(answer);
});

function refusal(text: string, schema: "page" | "server" = "page"): CranksideError {
  try {
    if (schema === "page") readMessage(requestSchema, text);
    else readMessage(serverMessageSchema, text);
  } catch (error) {
    if (error instanceof CranksideError) return error;
    throw error;
  }
  throw new Error(`${text} was taken`);
}

describe("refused", () => {
  test.each([
    "",
    "hello",
    "null",
    "[]",
    "{}",
    '{"type":"ports"}',
    '{"type":"ports","id":1.5}',
    '{"type":"ports","id":"1"}',
    '{"type":"ports","id":1,"more":true}',
    '{"type":"format-disk","id":1}',
    '{"type":"__proto__","id":1}',
    '{"type":"connect","id":1,"address":5,"facts":{}}',
    '{"type":"connect","id":1,"address":"tcp:a:1","facts":{"vehicle":{"cylinders":99}}}',
    '{"type":"mark","id":1,"recording":null,"mark":{"id":"","at":1,"label":""}}',
    '{"type":"mark","id":1,"recording":null,"mark":{"id":"m","at":-1,"label":""}}',
    '{"type":"mark","id":1,"mark":{"id":"m","at":1,"label":""}}',
    '{"type":"bench","id":1,"act":{"act":"key","to":"start"}}',
    '{"type":"bench","id":1,"act":{"act":"pedal","to":1.01}}',
    '{"type":"bench","id":1,"act":{"act":"explode"}}',
  ])("%s", (text) => {
    expect(refusal(text).code).toBe("message-invalid");
  });

  test("texts and lists without end", () => {
    const long = "x".repeat(401);
    for (const request of [
      { type: "connect", id: 1, address: long, facts: {} },
      { type: "channels", id: 1, channels: Array.from({ length: 65 }, () => "load") },
      { type: "channels", id: 1, channels: ["x".repeat(61)] },
      { type: "channels", id: 1, channels: [], pinned: "load" },
      { type: "mark", id: 1, recording: null, mark: { id: "m", at: 1, label: long } },
      { type: "facts", id: 1, recording: null, facts: { complaint: "x".repeat(4001) } },
    ]) {
      expect(refusal(JSON.stringify(request)).code).toBe("message-invalid");
    }
  });

  test("answers with a part missing or of a wrong type", () => {
    for (const answer of answers) {
      for (const field of Object.keys(answer)) {
        if (field === "ports") continue;
        const rest = Object.fromEntries(Object.entries(answer).filter(([name]) => name !== field));
        expect(refusal(JSON.stringify(rest), "server").code, `${answer.type} ${field}`).toBe(
          "message-invalid",
        );
        const wrong = JSON.stringify({ ...rest, [field]: [[]] });
        expect(refusal(wrong, "server").code, `${answer.type} ${field}`).toBe("message-invalid");
      }
    }
  });

  test("the error says where", () => {
    expect(
      refusal('{"type":"connect","id":1,"address":"x","facts":{"vehicle":{"cylinders":99}}}').context.where,
    ).toBe("facts.vehicle.cylinders");
  });
});

test("whatever comes in, a message is read or refused with the one code", () => {
  fc.assert(
    fc.property(fc.oneof(fc.string({ unit: "binary" }), fc.json()), (text) => {
      expect(refusal(text).code).toBe("message-invalid");
    }),
  );
});

test("the list of recordings", () => {
  const entry = {
    file: "a.ndjson",
    bundled: false,
    bytes: 5,
    started: null,
    from: "",
    vehicle: "",
    invented: false,
    problem: "not a recording",
  };
  expect(readMessage(recordingListSchema, JSON.stringify([entry]))).toEqual([entry]);
  expect(() => readMessage(recordingListSchema, JSON.stringify([{ ...entry, bytes: "5" }]))).toThrow(
    CranksideError,
  );
});
