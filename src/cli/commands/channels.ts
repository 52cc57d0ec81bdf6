import type { Command } from "commander";
import { channels } from "../../../shared/decode.ts";
import { CranksideError } from "../../../shared/errors.ts";
import { nearestChannels } from "../../../shared/nameGuess.ts";
import { tradeNames } from "../../../shared/tables/tradeNames.ts";
import { unitChoices } from "../../../shared/unitNames.ts";

export function channelsCommand(program: Command): void {
  program
    .command("channels")
    .description("list the channels by name, with the units that a log may have them in")
    .argument("[words...]", "only those that these words may mean, such as MAF or STFT")
    .action((words: readonly string[]) => {
      const wanted = words.join(" ");
      const near = wanted === "" ? null : nearestChannels(wanted);
      const shown = channels.filter(
        ({ channel, name, unit }) =>
          unit !== "bits" && (near === null || near.includes(channel) || holds(`${channel} ${name}`, wanted)),
      );
      if (shown.length === 0) {
        throw new CranksideError("wrong-use", "no channel is near to these words", {
          expected: "words of `crankside channels`",
          found: JSON.stringify(wanted),
        });
      }
      const width = Math.max(...shown.map(({ channel }) => channel.length));
      for (const { channel, name, unit } of shown) {
        const short = shortFor(channel);
        const units = unitChoices(unit).join(", ");
        process.stdout.write(
          `${channel.padEnd(width)}  ${name}${short === "" ? "" : ` (${short})`}; ${units}\n`,
        );
      }
    });
}

function holds(text: string, words: string): boolean {
  return words
    .toLowerCase()
    .split(/\s+/)
    .every((word) => text.toLowerCase().includes(word));
}

/** The standard's abbreviation; of a channel that a pattern makes, with its bank and sensor. */
function shortFor(channel: string): string {
  for (const { channel: pattern, standard } of tradeNames) {
    const [abbreviation = ""] = standard;
    const found = new RegExp(
      `^${pattern.replace("{b}", "(?<b>[1-4])").replace("{s}", "(?<s>[1-4])").replace("{x}", "(?<x>[b-f])")}$`,
    ).exec(channel);
    if (found === null) continue;
    return abbreviation.replace(/\{(\w)\}/g, (_, name: string) => (found.groups?.[name] ?? "").toUpperCase());
  }
  return "";
}
