/** The only place that knows uPlot. One instance draws one lane. */
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import type { Frames } from "./frames.ts";
import type { Palette } from "./palette.ts";
import { samePixels } from "./samePixels.ts";
import type { LanePicture, Trace } from "../../../sheet/chart/picture.ts";

type Column = (number | null | undefined)[];

/** Thrown for data that would be drawn as quiet nonsense; it means a mistake of ours, not of the recording. */
class PlotDataError extends Error {}

export class LanePlot {
  readonly #host: HTMLElement;
  readonly #frames: Frames;
  #plot: uPlot | null = null;
  #shape = "";
  #picture: LanePicture | null = null;
  #palette: Palette | null = null;
  /** What stands on the canvas. */
  #drawn: { readonly picture: LanePicture; readonly palette: Palette; readonly ratio: number } | null = null;

  constructor(host: HTMLElement, frames: Frames) {
    this.#host = host;
    this.#frames = frames;
  }

  /**
   * Draws in the coming frame; what was handed in before and not drawn yet is passed over. Of hundreds of readings a
   * second most fall on pixels that are drawn already: then the canvas stays as it is.
   */
  show(picture: LanePicture, palette: Palette): void {
    this.#picture = picture;
    this.#palette = palette;
    this.#frames.draw(this, () => {
      const drawn = this.#drawn;
      const ratio = uPlot.pxRatio;
      const isThere =
        drawn?.palette === palette && drawn.ratio === ratio && samePixels(drawn.picture, picture, ratio);
      if (isThere) return;
      this.#draw(picture);
      this.#drawn = { picture, palette, ratio };
    });
  }

  destroy(): void {
    this.#frames.drop(this);
    this.#plot?.destroy();
    this.#plot = null;
    this.#drawn = null;
  }

  #draw(picture: LanePicture): void {
    if (picture.width < 1 || picture.height < 1) return;
    const data = dataOf(picture);
    const shape = `${this.#palette?.weight ?? 1} ${picture.axisWidth} ${picture.traces.map((t) => `${t.colour}${t.bare ? "b" : t.stepped ? "s" : "l"}${t.under ? "u" : ""}`).join()}`;
    if (this.#plot === null || shape !== this.#shape) {
      this.#shape = shape;
      this.#plot?.destroy();
      this.#plot = new uPlot(this.#options(picture), data, this.#host);
      return;
    }
    const plot = this.#plot;
    const width = picture.axisWidth + picture.width;
    plot.batch(() => {
      if (plot.width !== width || plot.height !== picture.height)
        plot.setSize({ width, height: picture.height });
      plot.setData(data, false);
      plot.setScale("y", { min: picture.axis.min, max: picture.axis.max });
      // Setting x makes uPlot build all paths anew.
      plot.setScale("x", { min: picture.stretch.from, max: picture.stretch.to });
    });
  }

  #options(picture: LanePicture): uPlot.Options {
    const now = (): LanePicture => this.#picture ?? picture;
    const colour = (name: "grid" | "muted"): string => this.#palette?.[name] ?? "#888";
    return {
      width: picture.axisWidth + picture.width,
      height: picture.height,
      padding: [0, 0, 0, 0],
      cursor: { show: false },
      legend: { show: false },
      scales: {
        x: { time: false, auto: false, range: () => [now().stretch.from, now().stretch.to] },
        y: { auto: false, range: () => [now().axis.min, now().axis.max] },
      },
      axes: [
        { show: false },
        {
          scale: "y",
          size: picture.axisWidth,
          gap: 6,
          font: this.#palette?.font ?? "11px sans-serif",
          stroke: () => colour("muted"),
          splits: () => [...inside(now())],
          values: () => inside(now()).map((tick) => now().tickTexts[now().axis.ticks.indexOf(tick)] ?? ""),
          grid: { stroke: () => colour("grid"), width: hairline() },
          ticks: { show: false },
        },
      ],
      series: [{}, ...picture.traces.map((trace) => this.#series(trace))],
      hooks: {
        drawClear: [(u) => this.#underlay(u)],
        draw: [(u) => this.#overlay(u)],
      },
    };
  }

  #series(trace: Trace): uPlot.Series {
    return {
      scale: "y",
      auto: false,
      width: hairline() * 1.0001 * (this.#palette?.weight ?? 1),
      stroke: () => this.#palette?.traces[trace.colour] ?? "#888",
      points: { show: false },
      ...(trace.under ? { alpha: 0.75, dash: [4, 3] } : {}),
      ...(trace.bare ? { paths: () => null } : {}),
      ...(!trace.bare && trace.stepped && uPlot.paths.stepped !== undefined
        ? { paths: uPlot.paths.stepped({ align: 1 }) }
        : {}),
    };
  }

  /** Ranges and time lines lie under the traces. */
  #underlay(u: uPlot): void {
    const picture = this.#picture;
    const palette = this.#palette;
    if (picture === null || palette === null) return;
    const { left, top, width, height } = u.bbox;
    const { ctx } = u;
    ctx.save();
    ctx.fillStyle = palette.band;
    for (const band of picture.bands) {
      const x0 = clamp(u.valToPos(band.from, "x", true), left, left + width);
      const x1 = clamp(u.valToPos(band.to, "x", true), left, left + width);
      const { min, max } = picture.axis;
      const y0 = clamp(u.valToPos(clamp(band.high, min, max), "y", true), top, top + height);
      const y1 = clamp(u.valToPos(clamp(band.low, min, max), "y", true), top, top + height);
      ctx.fillRect(x0, y0, x1 - x0, y1 - y0);
    }
    ctx.fillStyle = palette.grid;
    for (const t of picture.timeTicks) ctx.fillRect(Math.round(u.valToPos(t, "x", true)), top, 1, height);
    ctx.restore();
  }

  /** Dots where a reading stands alone or far from the next, a short stroke where none came, a wedge beyond the range. */
  #overlay(u: uPlot): void {
    const picture = this.#picture;
    const palette = this.#palette;
    if (picture === null || palette === null) return;
    const { left, top, width, height } = u.bbox;
    const { ctx } = u;
    const pixel = uPlot.pxRatio;
    ctx.save();
    ctx.beginPath();
    ctx.rect(left, top, width, height);
    ctx.clip();
    for (const trace of picture.traces) {
      ctx.fillStyle = palette.traces[trace.colour] ?? "#888";
      for (const i of trace.dots) {
        const x = u.valToPos(trace.points.t[i] ?? 0, "x", true);
        const y = u.valToPos(trace.points.v[i] ?? 0, "y", true);
        ctx.fillRect(x - 1.5 * pixel, y - 1.5 * pixel, 3 * pixel, 3 * pixel);
      }
      ctx.fillStyle = palette.missed;
      for (const t of trace.points.missed)
        ctx.fillRect(u.valToPos(t, "x", true) - pixel, top + height - 5 * pixel, 2 * pixel, 5 * pixel);
    }
    for (const trace of picture.traces) this.#wedges(u, trace);
    ctx.restore();
  }

  /** They point away from the range, and keep inside the lane where the trace leaves it. */
  #wedges(u: uPlot, { outside }: Trace): void {
    const { ctx } = u;
    const { top, height } = u.bbox;
    const pixel = uPlot.pxRatio;
    if (outside.length === 0) return;
    ctx.beginPath();
    for (const { t, v, above } of outside) {
      const x = u.valToPos(t, "x", true);
      const out = (above ? -1 : 1) * pixel;
      const base = clamp(u.valToPos(v, "y", true) + 3 * out, top + 6 * pixel, top + height - 6 * pixel);
      ctx.moveTo(x - 3.5 * pixel, base);
      ctx.lineTo(x + 3.5 * pixel, base);
      ctx.lineTo(x, base + 5 * out);
      ctx.closePath();
    }
    ctx.fill();
  }
}

/** A line of one device pixel: anything wider costs three times the drawing. */
function hairline(): number {
  return 1 / uPlot.pxRatio;
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(Math.max(value, low), high);
}

/** Ticks whose text would be cut by the lane's edges are left out. */
function inside({ axis, height }: LanePicture): number[] {
  const room = (7 / height) * (axis.max - axis.min);
  return axis.ticks.filter((tick) => tick >= axis.min + room && tick <= axis.max - room);
}

/** Columns as uPlot takes them: null breaks a line, undefined is "no reading of this trace at this time". */
function dataOf({ traces, stretch }: LanePicture): uPlot.AlignedData {
  const tables = traces.filter((trace) => trace.points.t.length > 0);
  if (tables.length === 0) return [[stretch.from, stretch.to], ...traces.map((): Column => [null, null])];
  for (const { points } of tables) check(points.t, points.v);
  const only = tables[0];
  if (traces.length === 1 && only !== undefined) return [[...only.points.t], [...only.points.v]];
  return uPlot.join(traces.map(({ points }): uPlot.AlignedData => [[...points.t], [...points.v]]));
}

function check(t: readonly number[], v: readonly (number | null)[]): void {
  if (t.length !== v.length)
    throw new PlotDataError(`expected as many values as times, found ${v.length} and ${t.length}`);
  for (let i = 1; i < t.length; i++) {
    if (!((t[i] ?? 0) > (t[i - 1] ?? 0)))
      throw new PlotDataError(`expected rising times, found a fall at ${i}`);
  }
}
