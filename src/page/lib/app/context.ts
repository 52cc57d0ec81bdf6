import { createContext } from "svelte";
import type { Page } from "./page.svelte.ts";

/** The page's one state, handed down to every component. */
export const [usePage, providePage] = createContext<Page>();
