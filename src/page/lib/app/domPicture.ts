/** What stands on the page in drawings and tables, as one vector picture with its colours written into it. */
import { escaped } from "../../../sheet/markup.ts";

const drawn = ["fill", "stroke", "stroke-width", "stroke-dasharray", "opacity", "font-size", "font-weight"];
const font = "system-ui, 'Segoe UI', 'Noto Sans', 'DejaVu Sans', sans-serif";
const margin = 14;
const line = 15;

export interface PictureWords {
  readonly title: string;
  /** Source recording, its time, that it is invented. */
  readonly foot: readonly string[];
}

/** Drawings and tables under `root`, each where it stands; a title above and the foot below. */
export function domPicture(root: Element, { title, foot }: PictureWords): string {
  const found = [...root.querySelectorAll("svg, table")];
  const boxes = found.map((element) => element.getBoundingClientRect());
  const left = Math.min(...boxes.map((b) => b.left)) - margin;
  const top = Math.min(...boxes.map((b) => b.top)) - margin - line * 1.6;
  const width = Math.ceil(Math.max(...boxes.map((b) => b.right)) - left + margin);
  const bottom = Math.max(...boxes.map((b) => b.bottom)) - top + margin;
  const height = Math.ceil(bottom + foot.length * line + 6);
  const style = getComputedStyle(document.body);
  const desk = getComputedStyle(document.documentElement).getPropertyValue("--paper").trim();
  const parts = found.map((element) =>
    element instanceof SVGElement ? drawing(element, left, top) : table(element, left, top),
  );
  const feet = foot.map(
    (text, i) =>
      `<text x="${margin}" y="${bottom + line * (i + 0.6)}" font-size="11">${escaped(text)}</text>`,
  );
  return `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" font-family="${font}" fill="${style.color}"><title>${escaped(title)}</title><rect width="${width}" height="${height}" fill="${desk}"/><text x="${margin}" y="${margin + 4}" font-size="14" font-weight="600">${escaped(title)}</text>${parts.join("")}${feet.join("")}</svg>`;
}

function drawing(svg: SVGElement, left: number, top: number): string {
  const box = svg.getBoundingClientRect();
  const copy = svg.cloneNode(true) as SVGElement;
  const from = [svg, ...svg.querySelectorAll("*")];
  const to = [copy, ...copy.querySelectorAll("*")];
  for (const [i, element] of to.entries()) {
    const original = from[i];
    if (original === undefined) continue;
    const style = getComputedStyle(original);
    for (const name of drawn) element.setAttribute(name, style.getPropertyValue(name));
    element.removeAttribute("class");
  }
  copy.setAttribute("x", String(box.left - left));
  copy.setAttribute("y", String(box.top - top));
  return new XMLSerializer().serializeToString(copy);
}

function table(element: Element, left: number, top: number): string {
  return [...element.querySelectorAll<HTMLElement>("caption, th, td")]
    .map((cell) => {
      const box = cell.getBoundingClientRect();
      const style = getComputedStyle(cell);
      const [x, y] = [box.left - left, box.top - top];
      const back = style.backgroundColor === "rgba(0, 0, 0, 0)" ? "none" : style.backgroundColor;
      const lines = cell.innerText.split("\n").filter((text) => text.trim() !== "");
      const start = style.textAlign === "start" || style.textAlign === "left";
      const end = style.textAlign === "end" || style.textAlign === "right";
      const at = start ? x + 5 : end ? x + box.width - 5 : x + box.width / 2;
      const size = Number.parseFloat(style.fontSize);
      const rest = Math.max(0, box.height - lines.length * size * 1.15) / 2;
      const texts = lines.map(
        (text, i) =>
          `<text x="${at}" y="${y + rest + size * (0.95 + i * 1.15)}" font-size="${i > 0 ? size * 0.8 : size}" font-weight="${style.fontWeight}" fill="${style.color}" text-anchor="${start ? "start" : end ? "end" : "middle"}">${escaped(text.trim())}</text>`,
      );
      const frame = cell.tagName === "CAPTION" ? "none" : "#b9b3a3";
      return `<rect x="${x}" y="${y}" width="${box.width}" height="${box.height}" fill="${back}" stroke="${frame}" stroke-width="0.5"/>${texts.join("")}`;
    })
    .join("");
}

/** The picture as dots, two for each of its own, so that it stays sharp in print. */
export async function pngOf(svg: string): Promise<Blob> {
  const url = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  try {
    const image = new Image();
    image.src = url;
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = image.naturalWidth * 2;
    canvas.height = image.naturalHeight * 2;
    const context = canvas.getContext("2d");
    if (context === null) throw new DOMException("no drawing surface", "NotSupportedError");
    context.drawImage(image, 0, 0, canvas.width, canvas.height);
    return await new Promise((resolve, reject) => {
      canvas.toBlob((blob) => {
        if (blob === null) reject(new DOMException("the picture is too large", "EncodingError"));
        else resolve(blob);
      }, "image/png");
    });
  } finally {
    URL.revokeObjectURL(url);
  }
}

/** Hands a file to the person, as the browser does with downloads. */
export function handOut(blob: Blob, name: string): void {
  const url = URL.createObjectURL(blob);
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  link.click();
  // The browser has taken the address by the next turn.
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}
