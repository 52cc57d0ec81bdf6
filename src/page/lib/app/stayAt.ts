/** The keyboard stays where it was when what it pressed goes, moves, or can be pressed no more. */
import { tick } from "svelte";

const pressable = "button:not(:disabled)";

/** Does `change` to a list of rows; where that takes the focus away, it comes to what is nearest. */
export async function stayAt(change: () => void): Promise<void> {
  const from = document.activeElement;
  const row = from?.closest("li") ?? null;
  const list = row?.parentElement ?? null;
  const place = list === null || row === null ? 0 : [...list.children].indexOf(row);
  const label = from?.ariaLabel ?? null;
  change();
  await tick();
  if (list === null || !(from instanceof HTMLElement)) return;
  if (from.isConnected && document.activeElement === from && !from.matches(":disabled")) return;
  (sameIn(list, label) ?? rowAt(list, place) ?? besides(list))?.focus();
}

/** What is called as it was, or, where it cannot be pressed now, what stands beside it. */
function sameIn(list: Element, label: string | null): HTMLElement | null {
  if (label === null) return null;
  const same = [...list.querySelectorAll("button")].find((button) => button.ariaLabel === label);
  if (same === undefined || !same.disabled) return same ?? null;
  const beside = [same.nextElementSibling, same.previousElementSibling].find((e) => e?.matches(pressable));
  return beside instanceof HTMLElement ? beside : null;
}

/** In the row that took its place, or in the last one. */
function rowAt(list: Element, place: number): HTMLElement | null {
  const row = list.children[Math.min(place, list.children.length - 1)];
  return row?.querySelector<HTMLElement>(pressable) ?? null;
}

function besides(list: Element): HTMLElement | null {
  return list.parentElement?.querySelector<HTMLElement>(`input, ${pressable}`) ?? null;
}
