import { readSettings, rememberLabel, settingsText, type Settings } from "./settings.ts";

const key = "crankside";

/** Storage may be switched off or full: then the settings live as long as the page does. */
function stored(): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    // Reading is refused: the usual settings apply.
    return null;
  }
}

export class SettingsState {
  readonly #onUnkept: () => void;
  #unkept = false;
  #current: Settings = $state.raw(readSettings(stored()));

  /** Calls once, when a setting cannot be kept beyond this visit. */
  constructor(onUnkept: () => void = () => undefined) {
    this.#onUnkept = onUnkept;
  }

  get current(): Settings {
    return this.#current;
  }

  change(part: Partial<Settings>): void {
    this.#current = { ...this.#current, ...part };
    try {
      const text = settingsText(this.#current, localStorage.getItem(key));
      if (text !== null) localStorage.setItem(key, text);
    } catch {
      // Writing is refused: kept for this visit only.
      if (!this.#unkept) this.#onUnkept();
      this.#unkept = true;
    }
  }

  rememberLabel(label: string): void {
    this.change({ labels: rememberLabel(this.#current.labels, label) });
  }
}
