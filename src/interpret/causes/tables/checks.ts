import { airChecks } from "./checks/air.ts";
import { fuelChecks } from "./checks/fuel.ts";
import { historyChecks } from "./checks/history.ts";
import { linkChecks } from "./checks/link.ts";
import { mechanicsChecks } from "./checks/mechanics.ts";
import { moreChecks } from "./checks/more.ts";
import { powerChecks } from "./checks/power.ts";
import { sensorChecks } from "./checks/sensors.ts";
import { sparkChecks } from "./checks/spark.ts";
import { startChecks } from "./checks/start.ts";

/**
 * Hand checks, one row each with its outcomes and how often each of them is met. Minutes and money are estimates of
 * common practice; `minutesOpen` holds when what the check opens is open already, so that nearness counts. Ranges carry
 * their source; the vehicle's manual goes before them. `often` are estimates of common practice, to be corrected by
 * counted visits; measuring error, mild cases and slips of the hand are in them, so nothing is 0 or 1.
 */
export const handChecks = [
  ...powerChecks,
  ...startChecks,
  ...fuelChecks,
  ...sparkChecks,
  ...mechanicsChecks,
  ...airChecks,
  ...sensorChecks,
  ...moreChecks,
  ...historyChecks,
  ...linkChecks,
] as const;

export type HandCheckId = (typeof handChecks)[number]["id"];
