import { defineConfig } from "eslint/config";
import boundaries from "eslint-plugin-boundaries";
import svelte from "eslint-plugin-svelte";
import globals from "globals";
import tseslint from "typescript-eslint";

/**
 * The rooms, and who may enter whom. A room may always import from itself; a new arrow is a decision and is
 * explained in DEVELOPERS.md.
 */
const rooms = {
  shared: [],
  link: ["shared"],
  dialogue: ["link", "shared"],
  framing: ["shared"],
  polling: ["dialogue", "framing", "shared"],
  bench: ["shared", "framing"],
  reading: ["shared", "framing"],
  interpret: ["shared", "reading"],
  analyst: ["shared", "reading", "interpret"],
  sheet: ["shared", "reading", "interpret", "analyst"],
  core: ["shared", "reading", "interpret", "analyst", "sheet"],
  recorder: ["shared", "reading", "analyst", "sheet"],
  server: [
    "shared",
    "link",
    "dialogue",
    "framing",
    "polling",
    "bench",
    "reading",
    "interpret",
    "analyst",
    "sheet",
    "recorder",
  ],
  page: ["shared", "reading", "interpret", "analyst", "sheet"],
  cli: ["shared", "link", "polling", "bench", "interpret", "analyst", "sheet", "recorder", "server"],
};

const folders = {
  shared: "shared",
  link: "adapters/link",
  dialogue: "adapters/dialogue",
  framing: "adapters/framing",
  polling: "adapters/polling",
  bench: "adapters/bench",
  reading: "src/reading",
  interpret: "src/interpret",
  analyst: "src/analyst",
  sheet: "src/sheet",
  core: "src/core",
  recorder: "src/recorder",
  server: "src/server",
  page: "src/page",
  cli: "src/cli",
};

const pureRooms = [
  "shared",
  "src/reading",
  "src/interpret",
  "src/analyst",
  "src/sheet",
  "src/core",
  "adapters/framing",
];

/** The clock module is the one place where time comes from. */
const noTimeOfOnesOwn = ["setTimeout", "setInterval", "setImmediate", "performance"].map((name) => ({
  name,
  message: "Time is handed in as a Clock (shared/clock.ts).",
}));

export default defineConfig(
  { ignores: ["dist/**", "coverage/**", "node_modules/**", "**/fixtures/**"] },
  tseslint.configs.strictTypeChecked,
  svelte.configs.recommended,
  {
    languageOptions: {
      parserOptions: {
        projectService: {
          allowDefaultProject: [
            "eslint.config.js",
            "src/cli/*.js",
            "recordings/*.js",
            "tests/measure/*.js",
            "tests/check/*.js",
            "tests/mutate/*.js",
            "tests/pictures/*.js",
            "tests/prove/*.js",
            "tests/support/*.js",
          ],
        },
        tsconfigRootDir: import.meta.dirname,
        extraFileExtensions: [".svelte"],
      },
    },
    rules: {
      "@typescript-eslint/restrict-template-expressions": [
        "error",
        { allowNumber: true, allowBoolean: true },
      ],
      "@typescript-eslint/no-confusing-void-expression": [
        "error",
        { ignoreArrowShorthand: true, ignoreVoidReturningFunctions: true },
      ],
      "@typescript-eslint/switch-exhaustiveness-check": [
        "error",
        { considerDefaultExhaustiveForUnions: true },
      ],
      "@typescript-eslint/no-unnecessary-condition": ["error", { allowConstantLoopConditions: true }],
      "@typescript-eslint/dot-notation": "off",
      // A third of the time of all rules, for what there is none of: types forbid enums (`erasableSyntaxOnly`), and
      // classes with #private parts are kept apart by TypeScript itself.
      "@typescript-eslint/no-unsafe-enum-assignment": "off",
      "@typescript-eslint/no-unsafe-enum-comparison": "off",
      "@typescript-eslint/no-unsafe-class-instance-assignment": "off",
      "max-params": ["error", { max: 4 }],
      "no-empty": "error",
      eqeqeq: "error",
    },
  },
  {
    files: ["**/*.svelte", "**/*.svelte.ts"],
    languageOptions: {
      globals: globals.browser,
      parserOptions: { parser: tseslint.parser },
    },
  },
  {
    files: ["src/page/**"],
    languageOptions: { globals: globals.browser },
  },
  {
    files: ["shared/**", "adapters/**", "src/**"],
    plugins: { boundaries },
    settings: {
      "import/resolver": { node: { extensions: [".ts", ".svelte", ".js"] } },
      "boundaries/include": ["shared/**", "adapters/**", "src/**"],
      "boundaries/elements": Object.entries(folders).map(([type, folder]) => ({
        type,
        pattern: folder,
        partialMatch: false,
      })),
    },
    rules: {
      "boundaries/dependencies": [
        "error",
        {
          default: "disallow",
          policies: [
            { allow: { to: { module: { origin: "external" } } } },
            { allow: { to: { module: { origin: "core" } } } },
            ...Object.entries(rooms).map(([from, to]) => ({
              from: { element: { type: from } },
              allow: { to: { element: { types: { anyOf: [from, ...to] } } } },
            })),
          ],
        },
      ],
    },
  },
  {
    files: pureRooms.map((room) => `${room}/**`),
    rules: {
      "no-restricted-imports": [
        "error",
        {
          patterns: [
            {
              group: ["node:*", "serialport", "@serialport/*", "ws", "svelte", "svelte/*", "uplot"],
              message: "This room is pure.",
            },
          ],
        },
      ],
      "no-restricted-globals": [
        "error",
        "process",
        "Buffer",
        "document",
        "window",
        "fetch",
        "console",
        ...noTimeOfOnesOwn,
      ],
      "no-restricted-properties": [
        "error",
        { object: "Date", property: "now", message: "Time comes in as a value." },
        { object: "Math", property: "random", message: "Chance comes in as a seeded source." },
      ],
    },
  },
  {
    files: ["adapters/**", "src/recorder/**", "src/server/**", "src/cli/**"],
    ignores: ["adapters/link/clock.ts", "adapters/framing/**", "src/cli/*.js"],
    rules: {
      "no-restricted-globals": ["error", ...noTimeOfOnesOwn],
      "no-restricted-properties": [
        "error",
        { object: "Date", property: "now", message: "Time is handed in as a Clock." },
      ],
    },
  },
  {
    files: ["src/page/**"],
    ignores: ["src/page/lib/chart/**"],
    rules: {
      "no-restricted-imports": [
        "error",
        { paths: [{ name: "uplot", message: "Only src/page/lib/chart opens this door." }] },
      ],
    },
  },
  {
    files: ["adapters/**/*.ts", "shared/**/*.ts", "src/**/*.ts"],
    ignores: [
      "shared/parameters.ts",
      "shared/laterParameters.ts",
      "shared/ranges.ts",
      "adapters/bench/vehicles.ts",
      "**/tables/**",
    ],
    rules: { "max-lines": ["error", { max: 400 }] },
  },
  {
    // Builders of table rows: their arguments are the columns.
    files: ["shared/parameters.ts", "shared/parameterRows.ts", "shared/laterParameters.ts"],
    rules: { "max-params": "off" },
  },
  {
    files: ["src/page/**/*.svelte"],
    rules: { "max-lines": ["error", { max: 200 }] },
  },
  {
    files: [
      "eslint.config.js",
      "src/cli/*.js",
      "recordings/*.js",
      "tests/measure/*.js",
      "tests/mutate/*.js",
      "tests/pictures/*.js",
      "tests/check/*.js",
      "tests/prove/*.js",
      "tests/support/*.js",
      "*.config.ts",
    ],
    extends: [tseslint.configs.disableTypeChecked],
    languageOptions: { globals: globals.node },
  },
);
