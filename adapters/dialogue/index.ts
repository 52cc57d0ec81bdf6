/** The room's door. */
export { isPermitted, mayBeDefined, permit, type DefinedReads } from "./allowed.ts";
export { findBaud, usualBauds, type BaudFound, type BaudSearch } from "./baud.ts";
export { consentToClear, type ClearConsent } from "./clearing.ts";
export { Dialogue } from "./dialogue.ts";
export { bytesOf, type Exchange, type ExchangeLimits } from "./machine.ts";
export { follow, type Plan, type PlannedAsk } from "./plan.ts";
export { headersFor, type HeaderPair } from "./headers.ts";
export { fasterRates, type FasterRate } from "./fasterRates.ts";
export type { RateOutcome } from "./rate.ts";
export { dialogueDefaults, type DialogueOptions } from "./options.ts";
export {
  choose,
  findProtocol,
  isText,
  noVehicle,
  prepareAdapter,
  printable,
  protocolGroups,
  restoreSettings,
  startWaits,
  tryProtocol,
  vehicleAnswered,
  type NothingFound,
  type Prepared,
  type ProtocolFound,
} from "./setup.ts";
export { isReset, lateAnswer, mayNameItself } from "./words.ts";
