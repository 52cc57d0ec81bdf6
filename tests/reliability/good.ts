/** Good input of each kind, small, for the fuzzer to break. */
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { VirtualClock } from "../../adapters/link/index.ts";
import type { PageRequest } from "../../shared/messages.ts";
import { writeBundle } from "../../src/recorder/jobs/bundle.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { newJob } from "../../src/sheet/job.ts";
import { crankCounter, pressure } from "../support/defined.ts";
import { tempFolder } from "../support/program.ts";

const body =
  '{"format":"crankside-recording","version":1,"started":"2024-03-02T09:00:00.000+01:00","from":"tcp:a:1",' +
  '"adapter":{"says":"ELM327 v1.5","refuses":["ATAT2"],"baud":38400},"protocol":"can11-500",' +
  '"vehicle":{"name":"cart","cylinders":4,"vin":"10145GER0R"},"invented":true,"writer":"by hand"}\n' +
  '{"t":0,"k":"link","state":"opened"}\n' +
  '{"t":1,"k":"link","state":"modules","modules":{"7E8":[12,11,5],"7E9":[12]}}\n' +
  '{"t":10,"k":"x","ask":"0100","lines":["7E8064100BE3EA813"],"first":4.5,"end":6.25}\n' +
  '{"t":20,"k":"x","ask":"010C0B1","lines":["7E805410C0C800B23"],"first":4,"end":6}\n' +
  '{"t":30,"k":"x","ask":"ATRV","lines":["12.4V"],"first":1,"end":2}\n' +
  '{"t":40,"k":"x","ask":"0902","lines":["7E8101449020131","7E8214434547523030","7E8225234303030303031"],"first":4,"end":20}\n' +
  '{"t":60,"k":"x","ask":"010C1","lines":[],"first":null,"end":null,"err":"silent"}\n' +
  '{"t":70,"k":"stray","text":"\\u0000\\u00ff>"}\n' +
  '{"t":80,"k":"mark","id":"m1","at":20,"until":60,"label":"fuel added at the intake"}\n' +
  '{"t":90,"k":"facts","facts":{"complaint":"dies","vehicle":{"fuel":"petrol"}}}\n' +
  '{"t":95,"k":"s","ch":"engine-speed","v":801.5,"u":"rpm"}\n' +
  '{"t":99,"k":"link","state":"lost","why":"pulled"}\n';

export const goodRecording = `${body}{"t":100,"k":"end","sha256":"${createHash("sha256").update(body).digest("hex")}"}\n`;

export const goodCsv =
  "Time,Speed,Coolant\n0,800,80\n0.5,810,80\n1,820,80.5\n1.5,,81\n2,840,81\n2.5,850,81\n3,860,\n";

export const goodMap = {
  time: { column: "Time", unit: "s" },
  columns: {
    Speed: { channel: "engine-speed", unit: "rpm" },
    Coolant: { channel: "coolant", unit: "°C" },
  },
};

export const goodParameters = { about: "invented", parameters: [crankCounter, pressure] };

export const goodJob = {
  ...newJob("2024-03-02-cart", "2024-03-02T09:00:00.000+01:00"),
  vehicle: { name: "cart", cylinders: 4 },
  texts: { complaint: "dies when warm" },
};

export const goodRequests: readonly PageRequest[] = [
  { type: "ports", id: 1 },
  {
    type: "connect",
    id: 2,
    address: "bench:garden-van",
    facts: { complaint: "dies", vehicle: { cylinders: 6 } },
  },
  { type: "disconnect", id: 3 },
  { type: "stop", id: 4 },
  { type: "start", id: 5, facts: {} },
  { type: "channels", id: 6, channels: ["engine-speed", "load"] },
  { type: "mark", id: 7, recording: null, mark: { id: "m1", at: 10, until: 20, label: "fuel added" } },
  { type: "facts", id: 8, recording: "one.ndjson", facts: { complaint: "dies" } },
  { type: "bench", id: 9, act: { act: "unplug", cylinder: 3, on: true } },
  { type: "move", id: 10 },
  { type: "take", id: 11 },
];

/** A bundle of one job with one recording. */
export async function bundleBytes(): Promise<Buffer> {
  const folder = tempFolder();
  try {
    const own = join(folder.path, "own");
    mkdirSync(own);
    writeFileSync(join(own, "one.ndjson"), goodRecording);
    const store = new JobStore({ own, bundled: null }, new VirtualClock(Date.UTC(2024, 2, 2)));
    const { id } = await store.create("cart");
    await store.takeIn(id, "one.ndjson");
    const path = join(folder.path, "good.zip");
    const made = "2024-03-02T10:00:00.000Z";
    const masking = { vin: false, names: false, plate: false };
    await writeBundle(store, id, { path, system: "metric", masking, made, writer: "fuzz" });
    return readFileSync(path);
  } finally {
    folder.remove();
  }
}
