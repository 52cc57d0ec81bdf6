/** Seeded chance, and what it does to good input. The same seed breaks it in the same way each time. */

export class Chance {
  #state: number;

  constructor(seed: number) {
    this.#state = seed >>> 0;
  }

  /** From 0 up to 1. (mulberry32: public domain.) */
  next(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let t = this.#state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  }

  /** A whole number from 0 up to `below`. */
  below(below: number): number {
    return Math.floor(this.next() * below);
  }

  of<T>(list: readonly T[]): T {
    const one = list[this.below(list.length)];
    if (one === undefined) throw new Error("nothing to choose from");
    return one;
  }

  bytes(count: number): Buffer {
    return Buffer.from(Array.from({ length: count }, () => this.below(256)));
  }
}

/** What breaks parsers: long numbers, deep nests, odd letters, names that mean something. */
const nasty: readonly string[] = [
  ...[
    "",
    "\0",
    "\r",
    "\n",
    "\r\n",
    ">",
    "\uFEFF",
    "\u2028",
    "\uD800",
    "🔧",
    '"',
    "\\",
    "'",
    ",",
    ";",
    "{",
    "}",
  ],
  ...["[", "]", "null", "true", "NaN", "-0", "1e999", "-1e999", "9".repeat(400), "0.".padEnd(300, "0"), "-"],
  ...["__proto__", "constructor", "../", "..\\", "/etc/passwd", "C:\\", "%2e%2e%2f", "a".repeat(5000)],
  ...[
    "[".repeat(3000),
    '{"a":'.repeat(2000),
    "=1+1",
    "@SUM(A1)",
    "7F0178",
    "41 0C",
    "SEARCHING...",
    "NO DATA",
  ],
  ...[
    "BUFFER FULL",
    "CAN ERROR",
    "LV RESET",
    "<DATA ERROR",
    "?",
    "0:",
    "00A",
    "7E8 10 14",
    "STOPPED",
    "ELM327 v1.5",
  ],
];

/** One to a few changes anywhere: a byte, a stretch cut out, doubled, swapped, or something nasty put in. */
export function mutate(chance: Chance, good: Uint8Array): Buffer {
  let bytes = Buffer.from(good);
  for (let changes = 1 + chance.below(4); changes > 0; changes--) {
    const at = chance.below(bytes.length + 1);
    const length = chance.below(Math.min(200, bytes.length - at + 1));
    const head = bytes.subarray(0, at);
    const tail = bytes.subarray(at);
    switch (chance.below(6)) {
      case 0:
        if (at < bytes.length) bytes[at] = chance.below(256);
        break;
      case 1:
        bytes = Buffer.concat([head, tail.subarray(length)]);
        break;
      case 2:
        bytes = Buffer.concat([head, tail.subarray(0, length), tail]);
        break;
      case 3:
        bytes = Buffer.concat([head, Buffer.from(chance.of(nasty), "utf8"), tail]);
        break;
      case 4:
        bytes = Buffer.from(head);
        break;
      default:
        bytes = Buffer.concat([head, chance.bytes(length), tail]);
    }
  }
  return bytes;
}

/** A JSON value with one of its parts replaced, left out or added. */
export function mutateJson(chance: Chance, good: unknown): unknown {
  if (chance.below(4) === 0 || typeof good !== "object" || good === null) {
    return chance.of<unknown>([null, true, -1, 1e308, 0.5, "", [], {}, [[[]]], ...nasty]);
  }
  if (Array.isArray(good)) {
    const list: unknown[] = [...(good as unknown[])];
    const at = chance.below(list.length + 1);
    list[at] = mutateJson(chance, list[at]);
    return list;
  }
  const entries = Object.entries(good as Record<string, unknown>);
  if (entries.length === 0) return { [chance.of(nasty)]: 1 };
  const [name, value] = chance.of(entries);
  const rest = entries.filter(([other]) => other !== name);
  switch (chance.below(5)) {
    case 0:
      return Object.fromEntries(rest);
    case 1:
      return Object.fromEntries([...entries, [chance.of(nasty), value]]);
    default:
      return Object.fromEntries([...rest, [name, mutateJson(chance, value)]]);
  }
}
