import type { Command } from "commander";
import { listPorts } from "../../../adapters/link/index.ts";

export function portsCommand(program: Command): void {
  program
    .command("ports")
    .description("list the serial ports, with what the system knows of each")
    .option("--json", "as JSON")
    .action(async (options: { json?: boolean }) => {
      const ports = await listPorts();
      if (options.json === true) {
        process.stdout.write(`${JSON.stringify(ports, null, 2)}\n`);
        return;
      }
      if (ports.length === 0) {
        process.stdout.write(
          "No serial port was found. Plug the adapter in, or pair it first if it is a Bluetooth one.\n",
        );
      }
      for (const port of ports) process.stdout.write(`serial:${port.path}   ${port.about}\n`);
    });
}
