import type { Cue, VerdictCue } from "./cues.ts";

/** What is heard; a drop-out while a harness is moved is one short high tick. */
type Sound = Cue | VerdictCue | "drop";

/**
 * Two rising tones for a speed, three low ones for none; four rising quickly when it fires, two falling when it stops or
 * dies, one long low pair when it was all in vain: told apart by rhythm too. Hz and seconds from the start.
 */
const tones: Readonly<Record<Sound, readonly (readonly [hz: number, at: number])[]>> = {
  speed: [
    [660, 0],
    [990, 0.16],
  ],
  "no-speed": [
    [220, 0],
    [220, 0.22],
    [220, 0.44],
  ],
  fired: [
    [660, 0],
    [825, 0.1],
    [990, 0.2],
    [1320, 0.3],
  ],
  stopped: [
    [440, 0],
    [330, 0.16],
  ],
  died: [
    [990, 0],
    [495, 0.16],
    [330, 0.32],
  ],
  "in-vain": [
    [262, 0],
    [262, 0.5],
  ],
  drop: [[1760, 0]],
};

const toneS = 0.13;
const loudness = 0.25;

/** Sounds of the page. The browser lets it sound once the person has clicked something. */
export class Sounds {
  #context: AudioContext | null = null;

  play(cue: Sound): void {
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
