/**
 * Reads a QR symbol from a picture, as a phone does, with none of the code that drew it: for pictures that stand
 * upright and undamaged. Tables and steps from ISO/IEC 18004:2015 (from memory; the error correction proves them:
 * with a wrong table nothing adds up).
 */

export interface Picture {
  readonly width: number;
  readonly height: number;
  /** Row by row, 0 black to 255 white. */
  readonly light: readonly number[];
}

type Level = "L" | "M" | "Q" | "H";
/** Blocks of a version and level: how many, code words in all, and those of them that are data (table 9). */
type Blocks = readonly (readonly [count: number, all: number, data: number])[];

const blocksOf: readonly Readonly<Record<Level, Blocks>>[] = [
  { L: [[1, 26, 19]], M: [[1, 26, 16]], Q: [[1, 26, 13]], H: [[1, 26, 9]] },
  { L: [[1, 44, 34]], M: [[1, 44, 28]], Q: [[1, 44, 22]], H: [[1, 44, 16]] },
  { L: [[1, 70, 55]], M: [[1, 70, 44]], Q: [[2, 35, 17]], H: [[2, 35, 13]] },
  { L: [[1, 100, 80]], M: [[2, 50, 32]], Q: [[2, 50, 24]], H: [[4, 25, 9]] },
  {
    L: [[1, 134, 108]],
    M: [[2, 67, 43]],
    Q: [
      [2, 33, 15],
      [2, 34, 16],
    ],
    H: [
      [2, 33, 11],
      [2, 34, 12],
    ],
  },
  { L: [[2, 86, 68]], M: [[4, 43, 27]], Q: [[4, 43, 19]], H: [[4, 43, 15]] },
];

/** Clause 7.9.1: the two bits that name a level. */
const levels: readonly Level[] = ["M", "L", "H", "Q"];

/** Table 10: where each mask turns a module; i is the row, j the column. */
const masks: readonly ((i: number, j: number) => boolean)[] = [
  (i, j) => (i + j) % 2 === 0,
  (i) => i % 2 === 0,
  (_i, j) => j % 3 === 0,
  (i, j) => (i + j) % 3 === 0,
  (i, j) => (Math.floor(i / 2) + Math.floor(j / 3)) % 2 === 0,
  (i, j) => ((i * j) % 2) + ((i * j) % 3) === 0,
  (i, j) => (((i * j) % 2) + ((i * j) % 3)) % 2 === 0,
  (i, j) => (((i + j) % 2) + ((i * j) % 3)) % 2 === 0,
];

/** Table 5. */
const letters = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:";

/** Throws where the picture holds no symbol that adds up. */
export function readQr(picture: Picture): string {
  const symbol = new Symbol18004(modulesOf(picture));
  const { level, mask } = symbol.format();
  const words = symbol.words(mask);
  return textOf(dataOf(words, blocksOf[symbol.version - 1]?.[level] ?? []), symbol.version);
}

/** The dark square in the picture, cut into modules: true is dark. */
export function modulesOf({ width, height, light }: Picture): boolean[][] {
  const dark = (x: number, y: number): boolean => (light[y * width + x] ?? 255) < 128;
  let [left, right, top, bottom] = [width, -1, height, -1];
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      if (!dark(x, y)) continue;
      [left, right] = [Math.min(left, x), Math.max(right, x)];
      [top, bottom] = [Math.min(top, y), Math.max(bottom, y)];
    }
  }
  let seven = 0;
  while (left + seven <= right && dark(left + seven, top)) seven += 1;
  const side = right - left + 1;
  const size = Math.round(side / (seven / 7));
  if (size < 21 || (size - 17) % 4 !== 0 || Math.abs(side - (bottom - top + 1)) > 1)
    throw new Error(`no symbol: ${side} by ${bottom - top + 1} pixels, first run ${seven}`);
  const pitch = side / size;
  const middle = (from: number, i: number): number => Math.floor(from + (i + 0.5) * pitch);
  return Array.from({ length: size }, (_r, i) =>
    Array.from({ length: size }, (_c, j) => dark(middle(left, j), middle(top, i))),
  );
}

class Symbol18004 {
  readonly version: number;
  readonly #size: number;
  readonly #modules: readonly (readonly boolean[])[];

  constructor(modules: readonly (readonly boolean[])[]) {
    this.#modules = modules;
    this.#size = modules.length;
    this.version = (this.#size - 17) / 4;
    if (this.version > blocksOf.length) throw new Error(`version ${this.version} is not read here`);
    for (const [row, column] of [
      [0, 0],
      [0, this.#size - 7],
      [this.#size - 7, 0],
    ] as const)
      this.#mustBeFinder(row, column);
  }

  #at(row: number, column: number): boolean {
    return this.#modules[row]?.[column] === true;
  }

  /** Clause 6.3.3: rings of seven, five and three. */
  #mustBeFinder(row: number, column: number): void {
    for (let i = 0; i < 7; i++) {
      for (let j = 0; j < 7; j++) {
        const ring = Math.max(Math.abs(i - 3), Math.abs(j - 3));
        if (this.#at(row + i, column + j) !== (ring !== 2)) throw new Error(`no finder at ${row}, ${column}`);
      }
    }
  }

  /** Clause 7.9: five bits, guarded by ten, in the copy around the upper left finder. */
  format(): { level: Level; mask: number } {
    const places: (readonly [number, number])[] = [
      ...[0, 1, 2, 3, 4, 5, 7, 8].map((row) => [row, 8] as const),
      ...[7, 5, 4, 3, 2, 1, 0].map((column) => [8, column] as const),
    ];
    const read = places.reduce((bits, [row, column], i) => bits | (this.#at(row, column) ? 1 << i : 0), 0);
    const bits = read ^ 0b101_0100_0001_0010;
    let rest = bits;
    for (let i = 14; i >= 10; i--) if ((rest >> i) & 1) rest ^= 0b101_0011_0111 << (i - 10);
    if (rest !== 0) throw new Error("the format does not add up");
    const level = levels[bits >> 13];
    if (level === undefined) throw new Error("unreachable: two bits name four levels");
    return { level, mask: (bits >> 10) & 7 };
  }

  /** Finders with their borders and the format, timing, and the one alignment pattern of versions 2 to 6. */
  #isFunction(row: number, column: number): boolean {
    const [far, size] = [this.#size - 8, this.#size];
    if (row === 6 || column === 6) return true;
    if ((row < 9 && column < 9) || (row < 9 && column >= far) || (row >= far && column < 9)) return true;
    const centre = size - 7;
    return this.version > 1 && Math.abs(row - centre) <= 2 && Math.abs(column - centre) <= 2;
  }

  /** Clause 7.7.3: two columns at a time from the lower right, up and down in turn, leaving out column 6. */
  words(mask: number): number[] {
    const turned = masks[mask];
    if (turned === undefined) throw new Error("unreachable: three bits name eight masks");
    const bits: boolean[] = [];
    let up = true;
    for (let right = this.#size - 1; right > 0; right -= 2) {
      if (right === 6) right = 5;
      for (let step = 0; step < this.#size; step++) {
        const row = up ? this.#size - 1 - step : step;
        for (const column of [right, right - 1])
          if (!this.#isFunction(row, column)) bits.push(this.#at(row, column) !== turned(row, column));
      }
      up = !up;
    }
    return Array.from({ length: Math.floor(bits.length / 8) }, (_w, i) =>
      bits.slice(i * 8, i * 8 + 8).reduce((word, bit) => word * 2 + (bit ? 1 : 0), 0),
    );
  }
}

/** Clause 7.6: the blocks' words lie by turns, first all data, then all correction. */
export function dataOf(words: readonly number[], blocks: Blocks): number[] {
  const sizes = blocks.flatMap(([count, all, data]) => Array.from({ length: count }, () => ({ all, data })));
  const parts: number[][] = sizes.map(() => []);
  let at = 0;
  const deal = (lengths: readonly number[]): void => {
    for (let i = 0; i < Math.max(...lengths); i++)
      for (const [n, length] of lengths.entries()) if (i < length) parts[n]?.push(words[at++] ?? 0);
  };
  deal(sizes.map(({ data }) => data));
  deal(sizes.map(({ all, data }) => all - data));
  for (const [n, part] of parts.entries()) {
    const { all, data } = sizes[n] ?? { all: 0, data: 0 };
    if (!addsUp(part, all - data)) throw new Error(`block ${n} does not add up`);
  }
  return parts.flatMap((part, n) => part.slice(0, sizes[n]?.data ?? 0));
}

/** Annex A: as a polynomial over GF(256) modulo 0x11D, a good block is zero at each of the first powers of 2. */
export function addsUp(block: readonly number[], corrections: number): boolean {
  const times = (a: number, b: number): number => {
    let product = 0;
    for (let bit = 7; bit >= 0; bit--) {
      product = (product << 1) ^ (product & 0x80 ? 0x11d : 0);
      if ((b >> bit) & 1) product ^= a;
    }
    return product;
  };
  let power = 1;
  for (let i = 0; i < corrections; i++) {
    if (block.reduce((sum, word) => times(sum, power) ^ word, 0) !== 0) return false;
    power = times(power, 2);
  }
  return true;
}

/** Clause 7.4: segments of digits, letters or bytes, up to the terminator. Versions up to 9. */
export function textOf(data: readonly number[], version: number): string {
  if (version > 9) throw new Error("longer counts are not read here");
  let at = 0;
  const take = (count: number): number => {
    let value = 0;
    for (let i = 0; i < count; i++, at++) value = value * 2 + (((data[at >> 3] ?? 0) >> (7 - (at & 7))) & 1);
    return value;
  };
  const left = (): number => data.length * 8 - at;
  const bytes: number[] = [];
  const say = (text: string): void => void bytes.push(...Buffer.from(text, "latin1"));
  while (left() >= 4) {
    const mode = take(4);
    if (mode === 0) break;
    if (mode === 1) {
      let count = take(10);
      for (; count >= 3; count -= 3) say(String(take(10)).padStart(3, "0"));
      if (count > 0) say(String(take(count === 2 ? 7 : 4)).padStart(count, "0"));
    } else if (mode === 2) {
      let count = take(9);
      for (; count >= 2; count -= 2) {
        const pair = take(11);
        say(`${letters[Math.floor(pair / 45)] ?? "?"}${letters[pair % 45] ?? "?"}`);
      }
      if (count === 1) say(letters[take(6)] ?? "?");
    } else if (mode === 4) for (let count = take(8); count > 0; count--) bytes.push(take(8));
    else throw new Error(`mode ${mode} is not read here`);
  }
  return Buffer.from(bytes).toString("utf8");
}
