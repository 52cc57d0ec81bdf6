/** The adapter itself as the source of a channel. */
export const adapterModule = "adapter";

/** Parameters that announce which others a module has. */
export const supportMapPids: ReadonlySet<number> = new Set([0x00, 0x20, 0x40, 0x60, 0x80, 0xa0, 0xc0]);
