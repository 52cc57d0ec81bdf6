export { Reading, type Gap, type Answer } from "./reading.ts";
export { askedParameters } from "./asked.ts";
export { surveyOf, type RecordedSurvey } from "./survey.ts";
