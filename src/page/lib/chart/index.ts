export { Frames } from "./frames.ts";
export { LanePlot } from "./lanePlot.ts";
export { readPalette, type Palette } from "./palette.ts";
export {
  isWordUnit,
  lanePicture,
  type LanePicture,
  type RegimeSpan,
  type TraceSource,
} from "../../../sheet/chart/picture.ts";
export { signBandAt, signBands, type SignBand } from "../../../sheet/chart/signBands.ts";
export { timeText, timeTicks, type TimeTick } from "../../../sheet/chart/ticks.ts";
export {
  around,
  broughtBy,
  clampStretch,
  following,
  pan,
  partOf,
  timeAt,
  whole,
  zoom,
  type Stretch,
} from "./window.ts";
