export { Reading } from "./reading.ts";
export { columnsOf, type Answer, type Gap, type PackedReading } from "./packed.ts";
export { askedParameters } from "./asked.ts";
export { surveyOf, type RecordedSurvey } from "./survey.ts";
