/** Lanes belong to the vehicle they were chosen for: another one begins with its own usual ones. */
import type { Status } from "../../../../shared/messages.ts";
import type { Settings } from "./settings.ts";

interface Kept {
  readonly current: Settings;
  change(wish: Partial<Settings>): void;
}

/** By what its first module supports, which hardly two kinds of vehicle have in common; empty where that is not known. */
export function vehicleMark(modules: Status["modules"]): string {
  const [first] = modules.toSorted((a, b) => (a.address < b.address ? -1 : 1));
  if (first === undefined) return "";
  return [...first.pids]
    .sort((a, b) => a - b)
    .map((pid) => pid.toString(16).padStart(2, "0"))
    .join("");
}

/** A vehicle is met: lanes and pins of another one are let go. Whether there are own ones left to ask for. */
export function meetVehicle(settings: Kept, modules: Status["modules"]): boolean {
  const mark = vehicleMark(modules);
  const { lanesOf, lanes, pinned } = settings.current;
  if (mark !== "" && lanesOf !== "" && mark !== lanesOf) {
    settings.change({ lanesOf: mark, lanes: null, pinned: [], folded: [] });
    return false;
  }
  if (mark !== "" && mark !== lanesOf) settings.change({ lanesOf: mark });
  return lanes !== null || pinned.length > 0;
}
