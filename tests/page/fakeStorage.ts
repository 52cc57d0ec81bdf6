/** A browser's storage in memory: its keys are properties of it. `full`: nothing more can be kept. */
export function fakeStorage(full = false): Storage {
  const own = new Map<string, string>();
  return new Proxy<Storage>(
    {
      length: 0,
      clear: () => own.clear(),
      key: (n) => [...own.keys()][n] ?? null,
      getItem: (name) => own.get(name) ?? null,
      setItem: (name, text) => {
        if (full) throw new DOMException("full", "QuotaExceededError");
        own.set(name, text);
      },
      removeItem: (name) => void own.delete(name),
    },
    {
      ownKeys: () => [...own.keys()],
      getOwnPropertyDescriptor: () => ({ enumerable: true, configurable: true }),
    },
  );
}
