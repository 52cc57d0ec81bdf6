export { Reading } from "./reading.ts";
export { NewsOf, ReadCopy, type ReadNews } from "./copy.ts";
export type { ServiceAnswer, Gap, Read } from "./read.ts";
export { askedParameters } from "./asked.ts";
export { surveyOf, type RecordedSurvey } from "./survey.ts";
