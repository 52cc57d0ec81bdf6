/** Waits for messages that came meanwhile, and no longer: a timer would wait for four milliseconds more. */
export function nextTurns(): () => Promise<void> {
  const { port1, port2 } = new MessageChannel();
  const waiting: (() => void)[] = [];
  port1.onmessage = () => waiting.shift()?.();
  return () =>
    new Promise((resolve) => {
      waiting.push(resolve);
      port2.postMessage(null);
    });
}
