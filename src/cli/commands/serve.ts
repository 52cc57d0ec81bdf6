import type { Command } from "commander";
import { join } from "node:path";
import { existsSync } from "node:fs";
import open from "open";
import { realClock } from "../../../adapters/link/index.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { defaultFolder, usualSpares } from "../../server/folders.ts";
import { startServer } from "../../server/index.ts";
import { interrupted } from "../interrupt.ts";
import { parametersFrom, parametersOption } from "../parametersFile.ts";
import { writerName } from "../version.ts";

interface ServeOptions {
  readonly port: string;
  readonly open: boolean;
  readonly folder: string;
  readonly spare?: string;
  readonly lan?: string | true;
  readonly parameters?: string;
  readonly survey: boolean;
}

const usualPort = "4173";

export function serveCommand(program: Command): void {
  program
    .command("serve", { isDefault: true })
    .description("serve the page on this machine and open it in the browser (the default)")
    .option("--port <number>", "port to serve on; 0 takes a free one", usualPort)
    .option("--folder <path>", "where recordings are kept", defaultFolder())
    .option("--spare <path>", "where a recording continues when that folder's disk fails")
    .option("--lan [address]", "open to the network too, for a phone that watches and marks; asks for a code")
    .option(...parametersOption)
    .option("--no-survey", "do not read all modules (DTCs, Mode 06, identity) at key on and at the end")
    .option("--no-open", "do not open the browser")
    .action(serve);
}

async function serve(options: ServeOptions): Promise<void> {
  const port = Number(options.port);
  if (!Number.isInteger(port) || port < 0 || port > 65535) {
    throw new CranksideError("wrong-use", "not a port", {
      expected: "0 to 65535",
      found: JSON.stringify(options.port),
    });
  }
  // The built program stands in dist/node; page and samples have their places beside it.
  const root = join(import.meta.dirname, "../..");
  const bundled = join(root, "recordings");
  const server = await startServer({
    port,
    pageFolder: join(root, "dist/page"),
    folders: { own: options.folder, bundled: existsSync(bundled) ? bundled : null },
    clock: realClock,
    writer: writerName,
    defined: parametersFrom(options.parameters),
    survey: options.survey,
    spares: [...(options.spare === undefined ? [] : [options.spare]), ...usualSpares()],
    lan: options.lan === undefined ? null : { host: options.lan === true ? null : options.lan },
  });
  process.stdout.write(
    `Crankside is at ${server.url}  (Ctrl-C ends it)\nRecordings are kept in ${options.folder}\n`,
  );
  if (server.lan !== null) process.stdout.write(lanText(server.lan.url, server.lan.code, server.lan.text()));
  const stop = interrupted();
  if (options.open) await openBrowser(server.url);
  await stop.done;
  process.stdout.write("\nEnding: closing the recording and the link.\n");
  await server.close();
}

/** Each code lets one device in; the page shows the next one. */
function lanText(url: string, code: string, picture: string): string {
  return `Open to the network at ${url} for reading and marking; code ${code}\n${picture}\n`;
}

async function openBrowser(url: string): Promise<void> {
  try {
    const child = await open(url);
    child.on("error", () => process.stderr.write(`No browser could be opened; go to ${url}\n`));
  } catch (error) {
    process.stderr.write(`No browser could be opened (${String(error)}); go to ${url}\n`);
  }
}
