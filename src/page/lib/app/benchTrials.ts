/** What can be tried by hand at the bench vehicle and taken back, each with the mark that a person would set. Pure. */
import type { BenchAct } from "../../../../shared/messages.ts";

export interface Trial {
  readonly id: string;
  readonly name: string;
  readonly undo: string;
  /** As a person would label it. */
  readonly label: string;
  readonly act: (on: boolean) => BenchAct;
}

const plugs = [
  { plug: "crank-sensor", name: "crank sensor's plug" },
  { plug: "module", name: "control module's plug" },
] as const;

export function trialsOf(cylinders: number): readonly Trial[] {
  return [
    {
      ...{
        id: "relay",
        name: "Swap the main relay",
        undo: "Put the old relay back",
        label: "relay swapped",
      },
      act: (on: boolean) => ({ act: "relay-swap", on }),
    },
    {
      ...{
        id: "seal",
        name: "Seal the intake from outside",
        undo: "Open the intake again",
        label: "intake sealed",
      },
      act: (on: boolean) => ({ act: "intake-seal", on }),
    },
    {
      ...{
        id: "booster",
        name: "Put jump leads on",
        undo: "Take the jump leads off",
        label: "jump leads on",
      },
      act: (on: boolean) => ({ act: "booster", on }),
    },
    {
      ...{ id: "exhaust", name: "Undo the exhaust ahead of the catalyst", undo: "Close the exhaust" },
      label: "exhaust opened",
      act: (on: boolean) => ({ act: "exhaust-open", on }),
    },
    ...plugs.map(({ plug, name }): Trial => ({
      ...{
        id: `wiggle-${plug}`,
        name: `Wiggle the ${name}`,
        undo: `Let the ${name} be`,
        label: `wiggled: ${name}`,
      },
      act: (on: boolean) => ({ act: "wiggle", plug, on }),
    })),
    ...Array.from({ length: cylinders }, (_, i): Trial => ({
      ...{ id: `unplug-${i + 1}`, name: `Unplug cylinder ${i + 1}`, undo: `Plug cylinder ${i + 1} in again` },
      label: `cylinder ${i + 1} unplugged`,
      act: (on: boolean) => ({ act: "unplug", cylinder: i + 1, on }),
    })),
  ];
}
