import { createContext } from "svelte";
import type { Session } from "./session.svelte.ts";

/** The page's one session, handed down to every component. */
export const [useSession, provideSession] = createContext<Session>();
