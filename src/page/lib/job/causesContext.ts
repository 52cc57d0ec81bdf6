import { createContext } from "svelte";
import type { Causes } from "./causes.svelte.ts";

/** The causes of the sheet that is shown, handed down to its parts. */
export const [useCauses, provideCauses] = createContext<Causes>();
