/** What applies to the driver of the table, by what the job says. Pure. */
import { complaintsInWords } from "../../interpret/causes/complaint.ts";
import type { JobDocument } from "../job.ts";
import { driverRows, type DriverRow } from "../tables/driver.ts";
import { foundOf, isMended, latestAdvice, logOf, standingActs } from "./found.ts";
import { lastSurvey } from "./surveys.ts";

/** The most urgent first. */
export function driverCautions(job: JobDocument): string[] {
  const found = foundOf(job);
  const causes = new Set([
    ...(found?.cause === null || found === null ? [] : [found.cause]),
    ...standingActs(logOf(job)).map((act) => act.cause),
  ]);
  const told = complaintsOfJob(job);
  const mended = isMended(job);
  const survey = lastSurvey({ job });
  const applies = ({ when }: DriverRow): boolean =>
    (when.complaints === undefined || when.complaints.some((c) => told.has(c))) &&
    (when.causes === undefined || when.causes.some((c) => causes.has(c))) &&
    (when.unmended === undefined || !mended) &&
    (when.survey !== "lamp on" || survey.lampOn) &&
    (when.survey !== "monitors not complete" || survey.notComplete);
  return driverRows.filter(applies).map((row) => row.text);
}

/** As the person chose them, as the words say, or as they were taken when causes were worked out. */
export function complaintsOfJob(job: JobDocument): ReadonlySet<string> {
  const said = job.advice.complaints ?? complaintsInWords(job.texts.complaint ?? "");
  return new Set(said.length > 0 ? said : (latestAdvice(job)?.complaints ?? []));
}
