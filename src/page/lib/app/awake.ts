/** Two metres and a stand between hands and keyboard: the screen must not go dark. Not every browser can. */
export function stayAwake(say: (text: string) => void): () => () => void {
  return () => {
    let lock: WakeLockSentinel | null = null;
    let over = false;
    const ask = (): void => {
      if (document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
      navigator.wakeLock.request("screen").then(
        (got) => {
          lock = got;
          if (over) void got.release();
        },
        () => say("The screen may go dark: this browser does not keep it awake."),
      );
    };
    ask();
    // A page that was out of sight has lost it.
    document.addEventListener("visibilitychange", ask);
    return () => {
      over = true;
      document.removeEventListener("visibilitychange", ask);
      void lock?.release();
    };
  };
}
