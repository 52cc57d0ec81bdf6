import packageFile from "../../package.json" with { type: "json" };

/** Name and version as written into recordings. */
export const writerName = `crankside ${packageFile.version}`;
