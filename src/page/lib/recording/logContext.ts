import { LogImport } from "./logImport.svelte.ts";
import type { Session } from "../app/session.svelte.ts";

let logs: LogImport | null = null;

/** The page's one way in for logs from elsewhere; what was made is opened and told. */
export function useLogs(session: Session): LogImport {
  logs ??= new LogImport(
    new URL("api/logs", document.baseURI).href,
    ({ file, samples, channels, notices }) => {
      void session.hookup.lookForRecordings();
      session.open(file, false);
      const told = notices.length === 0 ? "" : ` ${notices.length} notices stand in the recording.`;
      session.say(`${file}: ${samples} readings of ${channels} channels.${told}`);
    },
  );
  return logs;
}
