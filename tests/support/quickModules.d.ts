import type { Plugin } from "vite";

export function quickModules(): Plugin;
