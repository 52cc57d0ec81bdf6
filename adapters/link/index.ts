/** The room's door: bytes in and out, and the clocks. */
export { Carrier, Carriers, type CarrierWire } from "./carried.ts";
export { realClock, VirtualClock } from "./clock.ts";
export { commandLines, type CommandLineOptions } from "./commandLines.ts";
export { memoryPair } from "./memory.ts";
export { pacedClock } from "./paced.ts";
export { serialPair, type SerialPair } from "./pair.ts";
export { listPorts, type ListedPort, type PortSources } from "./ports.ts";
export { ratedPair } from "./rated.ts";
export { openSerial, type SerialOptions } from "./serial.ts";
export { listenTcp, openTcp, wrapSocket, type TcpListener, type TcpOptions } from "./tcp.ts";
