/** Who imports whom, by file. */
export type Imports = ReadonlyMap<string, readonly string[]>;
export function circlesOf(graph: Imports): string[][];
export function importsBelow(root: string): Imports;
