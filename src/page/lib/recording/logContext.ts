import { LogImport } from "./logImport.svelte.ts";
import type { Page } from "../app/page.svelte.ts";

let logs: LogImport | null = null;

/** The page's one way in for logs from elsewhere; what was made is opened and told. */
export function useLogs(page: Page): LogImport {
  logs ??= new LogImport(
    new URL("api/logs", document.baseURI).href,
    ({ file, samples, channels, notices }) => {
      void page.hookup.lookForRecordings();
      page.open(file, false);
      const told = notices.length === 0 ? "" : ` ${notices.length} notices stand in the recording.`;
      page.say(`${file}: ${samples} readings of ${channels} channels.${told}`);
    },
  );
  return logs;
}
