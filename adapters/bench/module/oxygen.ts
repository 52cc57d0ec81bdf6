/** Volts between which a sensor's change of side is timed (common practice; the switching points are 0.42 and 0.48). */
export const switchFrom = 0.3;
export const switchTo = 0.6;
/** Seconds in closed loop after which what was seen counts as a result. */
const resultAfterS = 20;

/** What the module keeps of one oxygen sensor's behaviour in closed loop. Volts and seconds. */
export class OxygenWatch {
  lowest = 1.3;
  highest = 0;
  /** Mean time to fall from rich to lean, to rise from lean to rich, and between changes of side; 0 is never. */
  falls = 0;
  rises = 0;
  between = 0;
  changes = 0;
  #watchedS = 0;
  #rich = false;
  /** Seconds since it left the rich or lean side; since its last change of side. */
  #leavingS = 0;
  #sideS = 0;

  /** There is a result since codes were cleared. */
  get done(): boolean {
    return this.#watchedS >= resultAfterS;
  }

  get period(): number {
    return 2 * this.between;
  }

  step(dt: number, volts: number): void {
    this.#watchedS += dt;
    this.lowest = Math.min(this.lowest, volts);
    this.highest = Math.max(this.highest, volts);
    this.#sideS += dt;
    const inside = this.#rich ? volts < switchTo : volts > switchFrom;
    this.#leavingS = inside ? this.#leavingS + dt : 0;
    const crossed = this.#rich ? volts < switchFrom : volts > switchTo;
    if (!crossed) return;
    if (this.#rich) this.falls = mixed(this.falls, this.#leavingS);
    else this.rises = mixed(this.rises, this.#leavingS);
    this.between = mixed(this.between, this.#sideS);
    this.#rich = !this.#rich;
    this.#sideS = 0;
    this.#leavingS = 0;
    this.changes += 1;
  }

  clear(): void {
    Object.assign(this, { lowest: 1.3, highest: 0, falls: 0, rises: 0, between: 0, changes: 0 });
    this.#watchedS = 0;
    this.#sideS = 0;
  }
}

/** A running mean; the first value stands as it is. */
function mixed(before: number, now: number): number {
  return before === 0 ? now : before + (now - before) * 0.2;
}
