import type { Plugin } from "vite";

export declare function runes(): Plugin;
