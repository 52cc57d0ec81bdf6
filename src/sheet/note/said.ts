/** The note's first line: what was found, in one sentence. Pure. */
import { headlineOf } from "../../interpret/report/headline.ts";
import { inOrder } from "../job.ts";
import { saysOf } from "../snapshot.ts";
import type { Composing } from "./composing.ts";
import { foundOf, isMended, latestAdvice } from "./found.ts";

/** Empty where nothing that was found is on the sheet. */
export function saidFirst({ job, system, mask }: Composing): string {
  const says = inOrder(job.entries).flatMap((entry) => saysOf(entry.says) ?? []);
  const cranks = says.flatMap((s) => (s.kind === "crank" ? [s.crank] : []));
  const signs = says.flatMap((s) => (s.kind === "sign" ? [s.sign] : []));
  const found = foundOf(job);
  const bad = signs.some((s) => s.verdict === "outside");
  if (cranks.length === 0 && !bad && found === null) return "";
  const seen = { cranks, signs, codes: [], regimes: [] };
  const advice = latestAdvice(job);
  const firm = found !== null && found.standing !== "suspected" ? found : null;
  const { words } = headlineOf(seen, firm === null ? advice : null, system);
  // What the log proved since goes before what was weighed then.
  const cause = firm === null ? "" : `; ${firm.standing}: ${firm.name}`;
  const nothing = cranks.length === 0 && !bad;
  const said = nothing && firm !== null ? `${firm.name}: ${firm.standing}` : `${words}${cause}`;
  return mask(`${said}${isMended(job) ? "; repaired" : ""}.`);
}
