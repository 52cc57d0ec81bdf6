/**
 * NIST Statistical Reference Datasets, linear regression: Norris, Longley, Wampler1 to Wampler3 (National Institute
 * of Standards and Technology, public domain). Data and certified values were written down from memory; that they
 * agree to ten digits with a fit is itself a check of the writing.
 */
export interface ReferenceSet {
  readonly name: string;
  readonly x: readonly (readonly number[])[];
  readonly y: readonly number[];
  readonly coefficients: readonly number[];
  readonly errors: readonly number[];
  readonly residual: number;
  /** Digits that a double-precision fit by reflections can be asked for on this set. */
  readonly digits: number;
}

/** y, x. */
const norris: readonly (readonly [number, number])[] = [
  [0.1, 0.2],
  [338.8, 337.4],
  [118.1, 118.2],
  [888.0, 884.6],
  [9.2, 10.1],
  [228.1, 226.5],
  [668.5, 666.3],
  [998.5, 996.3],
  [449.1, 448.6],
  [778.9, 777.0],
  [559.2, 558.2],
  [0.3, 0.4],
  [0.1, 0.6],
  [778.1, 775.5],
  [668.8, 666.9],
  [339.3, 338.0],
  [448.9, 447.5],
  [10.8, 11.6],
  [557.7, 556.0],
  [228.3, 228.1],
  [998.0, 995.8],
  [888.8, 887.6],
  [119.6, 120.2],
  [0.3, 0.3],
  [0.6, 0.3],
  [557.6, 556.8],
  [339.3, 339.1],
  [888.0, 887.2],
  [998.5, 999.0],
  [778.9, 779.0],
  [10.2, 11.1],
  [117.6, 118.3],
  [228.9, 229.2],
  [668.4, 669.1],
  [449.2, 448.9],
  [0.2, 0.5],
];

const longley: readonly (readonly number[])[] = [
  [60323, 83.0, 234289, 2356, 1590, 107608, 1947],
  [61122, 88.5, 259426, 2325, 1456, 108632, 1948],
  [60171, 88.2, 258054, 3682, 1616, 109773, 1949],
  [61187, 89.5, 284599, 3351, 1650, 110929, 1950],
  [63221, 96.2, 328975, 2099, 3099, 112075, 1951],
  [63639, 98.1, 346999, 1932, 3594, 113270, 1952],
  [64989, 99.0, 365385, 1870, 3547, 115094, 1953],
  [63761, 100.0, 363112, 3578, 3350, 116219, 1954],
  [66019, 101.2, 397469, 2904, 3048, 117388, 1955],
  [67857, 104.6, 419180, 2822, 2857, 118734, 1956],
  [68169, 108.4, 442769, 2936, 2798, 120445, 1957],
  [66513, 110.8, 444546, 4681, 2637, 121950, 1958],
  [68655, 112.6, 482704, 3813, 2552, 123366, 1959],
  [69564, 114.2, 502601, 3931, 2514, 125368, 1960],
  [69331, 115.7, 518173, 4806, 2572, 127852, 1961],
  [70551, 116.9, 554894, 4007, 2827, 130081, 1962],
];

const twentyOne = Array.from({ length: 21 }, (_, i) => i);
const powers = (x: number): number[] => Array.from({ length: 6 }, (_, k) => x ** k);

const wampler3 = [
  760, -2042, 2111, -1684, 3888, 1858, 11379, 17560, 39287, 64382, 113159, 175108, 273291, 400186, 581243,
  811568, 1121004, 1506550, 2002767, 2611612, 3369180,
];

export const referenceSets: readonly ReferenceSet[] = [
  {
    name: "Norris",
    x: norris.map(([, x]) => [1, x]),
    y: norris.map(([y]) => y),
    coefficients: [-0.262323073774029, 1.00211681802045],
    errors: [0.232818234301152, 0.429796848199937e-3],
    residual: 0.884796396144373,
    digits: 11,
  },
  {
    name: "Longley",
    x: longley.map(([, ...x]) => [1, ...x]),
    y: longley.map(([y = 0]) => y),
    coefficients: [
      -3482258.63459582, 15.0618722713733, -0.35819179292591e-1, -2.02022980381683, -1.03322686717359,
      -0.511041056535807e-1, 1829.15146461355,
    ],
    errors: [
      890420.383607373, 84.9149257747669, 0.334910077722432e-1, 0.488399681651699, 0.214274163161675,
      0.22607320006937, 455.478499142212,
    ],
    residual: 304.854073561965,
    digits: 8,
  },
  {
    name: "Wampler1",
    x: twentyOne.map(powers),
    y: twentyOne.map((x) => powers(x).reduce((s, v) => s + v, 0)),
    coefficients: [1, 1, 1, 1, 1, 1],
    errors: [0, 0, 0, 0, 0, 0],
    residual: 0,
    digits: 8,
  },
  {
    name: "Wampler2",
    x: twentyOne.map(powers),
    y: twentyOne.map((x) => powers(x).reduce((s, v, k) => s + v * 10 ** -k, 0)),
    coefficients: [1, 0.1, 0.01, 0.001, 0.0001, 0.00001],
    errors: [0, 0, 0, 0, 0, 0],
    residual: 0,
    digits: 8,
  },
  {
    name: "Wampler3",
    x: twentyOne.map(powers),
    y: wampler3,
    coefficients: [1, 1, 1, 1, 1, 1],
    errors: [
      2152.3262467817, 2363.55173469681, 779.343524331583, 101.47550755035, 5.64566512170752,
      0.112324854679312,
    ],
    residual: 2360.14502379268,
    digits: 8,
  },
];
