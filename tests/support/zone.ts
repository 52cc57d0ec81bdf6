/** Runs in another time zone, an IANA name, and comes back to the one before. */
export function inZone<T>(zone: string, act: () => T): T {
  const before = process.env["TZ"];
  process.env["TZ"] = zone;
  try {
    return act();
  } finally {
    if (before === undefined) delete process.env["TZ"];
    else process.env["TZ"] = before;
  }
}

/**
 * The same instants, winter and summer, in zones west and east of Greenwich, by whole hours, halves and quarters. Offsets
 * as the IANA time zone database has them.
 */
export const zonedTimes = [
  ["UTC", "2024-01-15T12:00:00.250+00:00", "2024-07-15T12:00:00.250+00:00"],
  ["America/New_York", "2024-01-15T07:00:00.250-05:00", "2024-07-15T08:00:00.250-04:00"],
  ["America/St_Johns", "2024-01-15T08:30:00.250-03:30", "2024-07-15T09:30:00.250-02:30"],
  ["Europe/Berlin", "2024-01-15T13:00:00.250+01:00", "2024-07-15T14:00:00.250+02:00"],
  ["Asia/Kathmandu", "2024-01-15T17:45:00.250+05:45", "2024-07-15T17:45:00.250+05:45"],
  ["Pacific/Kiritimati", "2024-01-16T02:00:00.250+14:00", "2024-07-16T02:00:00.250+14:00"],
] as const;

export const winter = Date.UTC(2024, 0, 15, 12, 0, 0, 250);
export const summer = Date.UTC(2024, 6, 15, 12, 0, 0, 250);
