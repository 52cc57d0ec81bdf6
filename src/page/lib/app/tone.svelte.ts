import { MediaQuery } from "svelte/reactivity";
import { readPalette, type Palette } from "../chart/index.ts";
import type { Settings } from "./settings.ts";

/** Light, dark or sunlight: which one holds, and its colours for the canvas. */
export class Tone {
  readonly #dark = new MediaQuery("prefers-color-scheme: dark");
  #palette: Palette | null = $state.raw(null);

  resolve(choice: Settings["tone"]): "light" | "dark" | "sunlight" {
    if (choice !== "system") return choice;
    return this.#dark.current ? "dark" : "light";
  }

  get palette(): Palette | null {
    return this.#palette;
  }

  /** Puts the tone on the page's root, where the style sheet's tokens hang on it. */
  apply(tone: "light" | "dark" | "sunlight"): void {
    const root = document.documentElement;
    root.dataset["tone"] = tone;
    this.#palette = readPalette(root);
  }
}
