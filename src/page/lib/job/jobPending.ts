import { changeOf, type Change } from "../../../sheet/change.ts";

/**
 * What is still to be sent after `sent` was saved. A field that was changed again goes on from what was sent; one that
 * was typed back to what it had been is sent back.
 */
export function remaining(sent: readonly Change[], now: readonly Change[]): Change[] {
  const pathOf = (change: Change): string => change.path.join("/");
  const bySent = new Map(sent.map((change) => [pathOf(change), change]));
  const paths = new Set(now.map(pathOf));
  const later = now.flatMap((change): Change[] => {
    const earlier = bySent.get(pathOf(change));
    if (earlier === undefined) return [change];
    return earlier === change ? [] : [changeOf(change.path, earlier.after, change.after)];
  });
  const back = sent.filter((change) => !paths.has(pathOf(change)));
  return [...later, ...back.map((change) => changeOf(change.path, change.after, change.before))];
}
