/** What a visit costs a person: acts on the page, and how far it was scrolled, counted in the page by its own events. */
import type { Locator, Page } from "playwright-core";

export interface Acts {
  /** Keys, clicks or taps, and fields filled; each field once until another act. */
  readonly page: number;
  /** What stands for hands at the engine: the bench vehicle's key, pedal and faults. */
  readonly engine: number;
  /** Of every scroller, pixels, up and down added. */
  readonly scrolled: number;
  /** One word for each act in order, for the eye. */
  readonly said: readonly string[];
}

/** Runs in the page; the tests' own code has no DOM. */
const counter = `(() => {
  const told = { page: 0, engine: 0, scrolled: 0, said: [] };
  window.actsOfTheVisit = told;
  let filling = null;
  let pressed = null;
  const engine = (target) => target instanceof Element && target.closest('[aria-label="bench vehicle"]') !== null;
  const act = (target, word, atEngine = engine(target)) => {
    told[atEngine ? "engine" : "page"] += 1;
    told.said.push((atEngine ? "engine: " : "") + word);
  };
  const wordOf = (target) =>
    (target.getAttribute?.("aria-label") ?? target.textContent ?? "").trim().replace(/\\s+/g, " ").slice(0, 40);
  const typesInto = (target) =>
    target instanceof Element &&
    target.matches("textarea, select, input:not([type=checkbox], [type=radio], [type=button])");
  addEventListener("pointerdown", (event) => {
    filling = null;
    pressed = event.target;
    act(event.target, "click " + wordOf(event.target));
  }, true);
  addEventListener("keydown", (event) => {
    if (event.repeat || ["Shift", "Control", "Alt", "Meta"].includes(event.key)) return;
    // What is typed into a field is the field's one act.
    if (typesInto(event.target) && !["Enter", "Escape", "Tab"].includes(event.key)) return;
    filling = pressed = null;
    act(event.target, "key " + event.key, event.key === "c");
  }, true);
  addEventListener("input", (event) => {
    if (!typesInto(event.target) || filling === event.target) return;
    filling = event.target;
    // Going to a field by hand and filling it is one act.
    const word = "fill " + wordOf(event.target.closest("label") ?? event.target);
    if (pressed === event.target) told.said[told.said.length - 1] = word;
    else act(event.target, word);
  }, true);
  const places = new WeakMap();
  addEventListener("scroll", (event) => {
    const of = event.target === document ? document.scrollingElement : event.target;
    const before = places.get(of) ?? [0, 0];
    const now = [of.scrollLeft, of.scrollTop];
    places.set(of, now);
    const by = Math.abs(now[0] - before[0]) + Math.abs(now[1] - before[1]);
    told.scrolled += by;
    if (by > 0) told.said.push("scrolled " + Math.round(by) + " px: " + (of.className || of.tagName));
  }, true);
})()`;

/** Counts from here on; at the hookup, before anything was done. */
export async function countActs(page: Page): Promise<() => Promise<Acts>> {
  await page.evaluate(counter);
  return async () => {
    // A scroll is told with the next frame.
    await page.evaluate("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))");
    return page.evaluate<Acts>("window.actsOfTheVisit");
  };
}

/**
 * A field is filled where a hand can reach it: what has to be scrolled for that is counted, which filling it by
 * script would spare.
 */
export async function fills(field: Locator, text: string): Promise<void> {
  await field.click({ trial: true });
  await field.fill(text);
}

export async function chooses(field: Locator, value: string): Promise<void> {
  await field.click({ trial: true });
  await field.selectOption(value);
}
