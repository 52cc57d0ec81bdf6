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
  askAsItStands,
  choose,
  findProtocol,
  noVehicle,
  protocolGroups,
  startWaits,
  tryProtocol,
  vehicleAnswered,
  type NothingFound,
  type ProtocolFound,
} from "./protocol.ts";
export { isText, printable } from "./readable.ts";
export { prepareAdapter, restoreSettings, type Prepared } from "./setup.ts";
export { isReset, lateAnswer, mayNameItself, nameOn } from "./words.ts";
