export { Reading, type Gap, type Answer } from "./reading.ts";
export { askedParameters } from "./asked.ts";
