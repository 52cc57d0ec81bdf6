/** The recorder's door: recordings on disk. */
export { addToRecording, type AddedEvent, type AddOptions } from "./add.ts";
export { exportCsv, defaultMaxAgeMs, type ExportOptions, type ExportSummary } from "./export.ts";
export { importCsv, importCsvInto, type ImportOptions, type ImportResult } from "./import/index.ts";
export { listRecordings, type RecordingFolders } from "./list.ts";
export { readRecording, type ReadSummary } from "./read.ts";
export { verifyRecording, verifyStatuses, type Verification, type VerifyState } from "./verify.ts";
export {
  createRecording,
  isBeingRecorded,
  type RecordingHeader,
  type RecordingOptions,
  type RecordingWriter,
} from "./writer.ts";
