// What can be saved: a view as a picture, the ride as a table, the set-up as a scene.

const COPIED = [
  "fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linejoin", "stroke-linecap", "opacity",
  "fill-opacity", "font-size", "font-weight", "font-family", "paint-order", "visibility",
] as const;

export function save(name: string, type: string, text: string): void {
  saveBlob(name, new Blob([text], {type}));
}

function saveBlob(name: string, blob: Blob): void {
  const url = URL.createObjectURL(blob);
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

const PIXELS = 2; // of a PNG to one of the SVG, each way

export type Format = "SVG" | "PNG";

// A picture of that name, from the text of an SVG; PNG by drawing it on a canvas.
export async function savePicture(name: string, svg: string, format: Format): Promise<void> {
  if (format === "SVG") {
    save(`${name}.svg`, "image/svg+xml", svg);
    return;
  }
  const url = URL.createObjectURL(new Blob([svg], {type: "image/svg+xml"}));
  try {
    const image = new Image();
    image.src = url;
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = Math.ceil(image.width * PIXELS);
    canvas.height = Math.ceil(image.height * PIXELS);
    const context = canvas.getContext("2d");
    if (!context) throw new Error("this browser draws on no canvas");
    context.drawImage(image, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/png"));
    if (!blob) throw new Error("this browser makes no PNG of it");
    saveBlob(`${name}.png`, blob);
  } finally {
    URL.revokeObjectURL(url);
  }
}

// A colour as every program that reads SVG knows it.
function plainColour(value: string): string {
  if (!/^(color|oklab|oklch|lab|lch)\(/.test(value)) return value;
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = 1;
  const context = canvas.getContext("2d");
  if (!context) return value;
  context.fillStyle = value;
  context.fillRect(0, 0, 1, 1);
  const [red, green, blue] = context.getImageData(0, 0, 1, 1).data;
  return `rgb(${red}, ${green}, ${blue})`;
}

// The picture stands alone: the looks that the page's style gives are written into it.
export function pictureText(drawn: SVGSVGElement): string {
  const copy = drawn.cloneNode(true) as SVGSVGElement;
  const from = [drawn, ...drawn.querySelectorAll("*")];
  const to = [copy, ...copy.querySelectorAll("*")];
  from.forEach((element, i) => {
    const style = getComputedStyle(element);
    const target = to[i];
    if (!target) return;
    for (const property of COPIED) {
      const value = style.getPropertyValue(property);
      if (value) target.setAttribute(property, plainColour(value));
    }
    target.removeAttribute("class");
    target.removeAttribute("style");
  });
  for (const element of copy.querySelectorAll("[data-drag], [data-draw]")) element.remove();
  const paper = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  paper.setAttribute("width", "100%");
  paper.setAttribute("height", "100%");
  paper.setAttribute("fill", getComputedStyle(document.documentElement).backgroundColor);
  copy.prepend(paper);
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  return `${new XMLSerializer().serializeToString(copy).replace(/<!--.*?-->/gs, "")}\n`;
}

export interface Column {
  readonly name: string;
  readonly unit: string;
  readonly values: ArrayLike<number>;
}

// CSV with the units in its first line, SI as in plunge's own tables; missing numbers stay empty.
export function tableText(columns: readonly Column[]): string {
  const cell = (text: string) => /[",\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
  const rows = [columns.map((c) => cell(`${c.name} [${c.unit}]`)).join(",")];
  const length = Math.max(0, ...columns.map((c) => c.values.length));
  for (let i = 0; i < length; ++i) {
    rows.push(columns.map((c) => {
      const value = c.values[i];
      return value === undefined || !Number.isFinite(value) ? "" : String(Number(value.toPrecision(9)));
    }).join(","));
  }
  return `${rows.join("\n")}\n`;
}
