import type { Cue } from "./cues.ts";

/** Two rising tones for a speed, three low ones for none: told apart by rhythm too. Hz and seconds from the start. */
const tones: Readonly<Record<Cue, readonly (readonly [hz: number, at: number])[]>> = {
  speed: [
    [660, 0],
    [990, 0.16],
  ],
  "no-speed": [
    [220, 0],
    [220, 0.22],
    [220, 0.44],
  ],
};

const toneS = 0.13;
const loudness = 0.25;

/** Sounds of the page. The browser lets it sound once the person has clicked something. */
export class Sounds {
  #context: AudioContext | null = null;

  play(cue: Cue): void {
    const context = (this.#context ??= new AudioContext());
    const now = context.currentTime;
    for (const [hz, at] of tones[cue]) {
      const tone = new OscillatorNode(context, { type: "triangle", frequency: hz });
      const gain = new GainNode(context, { gain: 0 });
      // Soft edges: a tone that is cut off clicks.
      gain.gain.setValueAtTime(0, now + at);
      gain.gain.linearRampToValueAtTime(loudness, now + at + 0.015);
      gain.gain.setValueAtTime(loudness, now + at + toneS - 0.03);
      gain.gain.linearRampToValueAtTime(0, now + at + toneS);
      tone.connect(gain).connect(context.destination);
      tone.start(now + at);
      tone.stop(now + at + toneS);
    }
  }

  async close(): Promise<void> {
    await this.#context?.close();
    this.#context = null;
  }
}
