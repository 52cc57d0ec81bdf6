/** Firing order, layout and banks of an engine as a person tells them, and what follows of them for a cylinder. Pure. */

export const layouts = ["in-line", "v", "boxer"] as const;
export type Layout = (typeof layouts)[number];

/** `1-3-4-2`, `1 3 4 2` or `1,3,4,2`: each number once, from 1 on without a gap. Null: it is none. */
export function firingOrder(text: string | undefined): number[] | null {
  const order = cylinderList(text);
  if (order === null || order.length < 2 || order.length > 16) return null;
  return order.every((c) => c <= order.length) ? order : null;
}

/** Numbers of cylinders, each once; null where it is no such list. */
export function cylinderList(text: string | undefined): number[] | null {
  const trimmed = (text ?? "").trim();
  if (!/^\d{1,2}(?:[-, ]+\d{1,2})*$/.test(trimmed)) return null;
  const list = trimmed.split(/[-, ]+/).map(Number);
  return new Set(list).size === list.length && list.every((c) => c >= 1 && c <= 16) ? list : null;
}

/** The cylinder at the same height half a cycle away: paired coils fire the two together. Null in an odd number of them. */
export function companionOf(order: readonly number[], cylinder: number): number | null {
  const at = order.indexOf(cylinder);
  if (at < 0 || order.length % 2 === 1) return null;
  return order[(at + order.length / 2) % order.length] ?? null;
}

export interface Placed {
  readonly cylinders?: number | undefined;
  readonly firingOrder?: string | undefined;
  readonly layout?: Layout | undefined;
  readonly bank1?: string | undefined;
}

/** 1 or 2, as far as it was told; an engine in line has one bank. */
export function bankOfCylinder({ layout, bank1 }: Placed, cylinder: number): 1 | 2 | null {
  if (layout === "in-line") return 1;
  const first = cylinderList(bank1);
  return first === null ? null : first.includes(cylinder) ? 1 : 2;
}

interface UsualOrder {
  readonly layout: Layout;
  readonly order: string;
}

/** To choose from; the vehicle's manual, or the plate under the bonnet, says which it is. */
export const usualOrders: { readonly source: string; readonly rows: readonly UsualOrder[] } = {
  source: "from memory, common practice",
  rows: [
    { layout: "in-line", order: "1-2-3" },
    { layout: "in-line", order: "1-3-2" },
    { layout: "in-line", order: "1-3-4-2" },
    { layout: "in-line", order: "1-2-4-3" },
    { layout: "boxer", order: "1-3-2-4" },
    { layout: "boxer", order: "1-4-3-2" },
    { layout: "in-line", order: "1-2-4-5-3" },
    { layout: "in-line", order: "1-5-3-6-2-4" },
    { layout: "v", order: "1-2-3-4-5-6" },
    { layout: "v", order: "1-4-2-5-3-6" },
    { layout: "v", order: "1-6-5-4-3-2" },
    { layout: "boxer", order: "1-6-2-4-3-5" },
    { layout: "v", order: "1-8-4-3-6-5-7-2" },
    { layout: "v", order: "1-8-7-2-6-5-4-3" },
    { layout: "v", order: "1-3-7-2-6-5-4-8" },
    { layout: "v", order: "1-5-4-2-6-3-7-8" },
    { layout: "v", order: "1-5-4-8-6-3-7-2" },
  ],
};

/** Those of an engine with so many cylinders and of this layout, as far as either was told. */
export function ordersFor({ cylinders, layout }: Placed): readonly UsualOrder[] {
  return usualOrders.rows.filter(
    (row) =>
      (cylinders === undefined || firingOrder(row.order)?.length === cylinders) &&
      (layout === undefined || row.layout === layout),
  );
}

/** What is said of a cylinder beside its number: "bank 2; fires after cylinder 3". */
export function placeWords(facts: Placed, cylinder: number): string {
  const order = firingOrder(facts.firingOrder);
  const companion = order === null ? null : companionOf(order, cylinder);
  const bank = facts.layout === "in-line" ? null : bankOfCylinder(facts, cylinder);
  const before =
    order === null ? undefined : order[(order.indexOf(cylinder) + order.length - 1) % order.length];
  return [
    bank === null ? "" : `bank ${bank}`,
    order?.includes(cylinder) !== true ? "" : `fires after cylinder ${before}`,
    companion === null ? "" : `shares a coil with cylinder ${companion} where coils are paired`,
  ]
    .filter((part) => part !== "")
    .join("; ");
}
