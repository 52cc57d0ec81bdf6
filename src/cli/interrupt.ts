/** Resolves when the person presses Ctrl-C or the system asks the program to end. A second time ends it at once. */
export function interrupted(): { readonly done: Promise<void>; release(): void } {
  let settle: () => void = () => undefined;
  const done = new Promise<void>((resolve) => {
    settle = resolve;
  });
  const onSignal = (): void => {
    settle();
    release();
  };
  const release = (): void => {
    process.removeListener("SIGINT", onSignal);
    process.removeListener("SIGTERM", onSignal);
  };
  process.once("SIGINT", onSignal);
  process.once("SIGTERM", onSignal);
  return { done, release };
}
