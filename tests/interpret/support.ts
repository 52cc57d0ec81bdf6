import type { RecordingEvent } from "../../shared/recording/format.ts";

/** A reply to service 06 on CAN 11 bit: monitor A1+n, test 0C, unit 24 (one count a bit), no limits. */
export function misfireCount(t: number, cylinder: number, misfires: number): RecordingEvent[] {
  const hex = (n: number, width = 2): string => n.toString(16).toUpperCase().padStart(width, "0");
  const monitor = hex(0xa1 + cylinder);
  // Ten bytes of service, monitor, test, unit, value and limits: first frame with six, one more with four.
  const data = `46${monitor}0C24${hex(misfires, 4)}0000FFFF`;
  const lines = [`7E8100A${data.slice(0, 12)}`, `7E821${data.slice(12)}000000`];
  return [{ k: "x", t, ask: `06${monitor}`, lines, first: 5, end: 10 }];
}
