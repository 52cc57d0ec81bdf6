/** Fixed colours keep a quantity's trace the same from one recording to the next, on the page and in the note. */
const colours: Readonly<Record<string, number>> = {
  "engine-speed": 0,
  "socket-voltage": 1,
  manifold: 2,
  "air-flow": 2,
  throttle: 3,
  load: 3,
  "trim-short-b1": 0,
  "trim-long-b1": 1,
  "trim-short-b2": 0,
  "trim-long-b2": 1,
  coolant: 4,
  "intake-air": 2,
  "module-voltage": 3,
};

/** The trace colours of a lane's channels, each its own; `at` is the lane's place on the sheet. */
export function laneColours(lane: readonly string[], at: number): number[] {
  const taken = new Set<number>();
  return lane.map((channel, i) => {
    let colour = colours[channel] ?? (at + i) % 5;
    while (taken.has(colour) && taken.size < 5) colour = (colour + 1) % 5;
    taken.add(colour);
    return colour;
  });
}
