// A plot: a figure that the program draws (figures.ts), and over it what moves: a dot, shaded work, a
// handle along x, what somebody sketches. It is laid out for the size it is shown at, so that its text
// has the size of the text around it.

import {html, nothing, svg, type TemplateResult} from "lit-html";
import type {Figures} from "./figures";
import type {Picture, PicturePanel, PictureSeries} from "./model";

export type Point = readonly [number, number];

// Points as two lists of numbers, as a figure takes them.
export interface Columns {
  readonly x: Float64Array;
  readonly y: Float64Array;
}

export interface Axis {
  readonly low: number;
  readonly high: number;
  readonly label: string; // with its unit
}

// What lines are drawn in: the set-up in hand, the one beside it, what is given.
const LOOKS = {
  "a": {paint: {colour: 0}},
  "a thin": {paint: {colour: 0}, fine: true},
  "a thin fast": {paint: {colour: 0}, mark: "dashed", fine: true},
  "b": {paint: {colour: 1}, mark: "dashed"},
  "b thin": {paint: {colour: 1}, mark: "dashed", fine: true},
  "loop": {paint: {colour: 1}, fine: true},
  "lost": {paint: {colour: 1}},
  "ink": {paint: {colour: 6}},
  "given": {paint: {quiet: true}},
} as const satisfies Record<string, Pick<PictureSeries, "paint" | "mark" | "fine">>;

// Or a shade of an order, from pale 0 to dark 1.
export type Look = keyof typeof LOOKS | {readonly shade: number};

function looking(look: Look): Pick<PictureSeries, "paint" | "mark" | "fine"> {
  return typeof look === "string" ? LOOKS[look] : {paint: look};
}

export interface Line {
  readonly points: readonly Point[] | Columns;
  readonly look: Look;
  readonly name?: string; // written at the line's end
}

// Between a curve and 0, or what a closed curve encloses.
export interface Area {
  readonly points: readonly Point[];
  readonly look: keyof typeof LOOKS;
  readonly encloses?: boolean;
}

export interface Dot {
  readonly at: Point;
  readonly look: "a" | "b";
}

export interface Mark {
  readonly x: number;
  readonly text: string;
}

export interface Handle {
  readonly label: string; // what the slider is, for who can't see it
  readonly value: number; // on the axis that drags
  readonly low: number;
  readonly high: number;
  readonly step: number;
  readonly text: string; // the value with its unit
  readonly move: (value: number, done: boolean) => void;
}

// What is drawn as a figure, and what moves over it.
export interface Plot {
  readonly id: string;
  readonly title: string; // for who can't see it
  readonly x: Axis;
  readonly y: Axis;
  readonly lines: readonly Line[];
  readonly areas?: readonly Area[];
  readonly spots?: readonly Dot[];
  readonly marks?: readonly Mark[];
  readonly level?: string; // what 0 stands for, where that is marked
  readonly aspect?: number; // height over width
  readonly under?: readonly Point[]; // the curve under which is shaded
  readonly dots?: readonly Dot[];
  readonly ghost?: readonly Point[]; // what somebody drew
  readonly handle?: Handle;
  readonly sketch?: Sketch;
}

// Points at even steps of x whose y somebody draws.
export interface Sketch {
  readonly at: readonly number[]; // x
  readonly values: readonly (number | null)[];
  readonly set: (index: number, value: number) => void;
  readonly sayX: (x: number) => string;
  readonly sayY: (y: number) => string;
}

// How wide each plot is shown and how large the text is there, in pixels; measured, see sizes.ts.
// And who draws its figure.
export interface Sizes {
  width(id: string): number;
  text(): number;
  figures(): Figures;
}

// Where the data of a plot stand, in the units of its figure.
export interface Frame {
  readonly width: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
  readonly text: number;
  readonly x: (value: number) => number;
  readonly y: (value: number) => number;
  readonly toX: (place: number) => number;
  readonly toY: (place: number) => number;
}

export function tell(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return "–";
  const text = value.toFixed(decimals);
  const parts = (/^-0(\.0*)?$/.test(text) ? text.slice(1) : text).split(".");
  const whole = (parts[0] ?? "").replace(/\B(?=(\d{3})+(?!\d))/g, "\u202f").replace("-", "−");
  return parts.length > 1 ? `${whole}.${parts[1]}` : whole;
}

// The smallest letters of a figure are 11 of its units high: these are as large as the text around.
export const LETTERS = 11;
export const CURVE = 2; // width of lines
const AROUND = 84; // height of what stands above and below the data
const LEAST = 104; // height of the data
export const NARROWEST = 240; // that a figure is laid out for

// The columns of a list of points, the same for the same list.
const columns = new WeakMap<readonly Point[], Columns & {zero: Float64Array}>();

function columnsOf(points: readonly Point[]): Columns & {zero: Float64Array} {
  const known = columns.get(points);
  if (known) return known;
  // Each time a knob moves: Float64Array.from() with a function takes ten times as long.
  const zero = new Float64Array(points.length);
  const made = {x: zero.map((_, i) => points[i]?.[0] ?? NaN), y: zero.map((_, i) => points[i]?.[1] ?? NaN), zero};
  columns.set(points, made);
  return made;
}

function lineSeries(line: Line): PictureSeries {
  const {x, y} = "x" in line.points ? line.points : columnsOf(line.points);
  return {label: line.name ?? "", x, y, ...looking(line.look)};
}

function areaSeries(area: Area): PictureSeries {
  const {x, y, zero} = columnsOf(area.points);
  const paint = LOOKS[area.look].paint;
  return area.encloses ? {x, y, mark: "area", paint} : {x, low: zero, high: y, mark: "band", paint};
}

export function panelOf(plot: Plot): PicturePanel {
  return {
    x_label: plot.x.label, y_label: plot.y.label, x_ends: [plot.x.low, plot.x.high], y_ends: [plot.y.low, plot.y.high],
    series: [...(plot.areas ?? []).map(areaSeries), ...plot.lines.map(lineSeries)],
    references: [
      ...(plot.level === undefined ? [] : [{label: plot.level, at: 0}]),
      ...(plot.marks ?? []).map((mark) => ({label: mark.text, at: mark.x, vertical: true})),
    ],
    spots: (plot.spots ?? []).map((dot) => ({x: dot.at[0], y: dot.at[1], paint: LOOKS[dot.look].paint})),
  };
}

export function frameOf(picture: Picture, panel: Picture["panels"][number] | undefined): Frame {
  if (!panel) throw new Error("a figure without a panel");
  const {x, y} = panel;
  const bottom = panel.top + panel.height;
  return {
    width: picture.width, height: picture.height, left: panel.left, right: panel.left + panel.width, top: panel.top, bottom, text: LETTERS,
    x: (value) => panel.left + (value - x.low) / (x.high - x.low) * panel.width,
    y: (value) => bottom - (value - y.low) / (y.high - y.low) * panel.height,
    toX: (place) => x.low + (place - panel.left) / panel.width * (x.high - x.low),
    toY: (place) => y.low + (bottom - place) / panel.height * (y.high - y.low),
  };
}

export function round(value: number): number {
  return Math.round(value * 10) / 10;
}

function path(points: readonly Point[], f: Frame): string {
  return points.map((p, i) => `${i === 0 ? "M" : "L"}${round(f.x(p[0]))} ${round(f.y(p[1]))}`).join("");
}

// Between a curve and 0.
function shaded(points: readonly Point[], f: Frame): string {
  const first = points[0];
  const last = points[points.length - 1];
  return first && last ? `${path([[first[0], 0], ...points, [last[0], 0]], f)}Z` : "";
}

export function clamp(value: number, low: number, high: number): number {
  return Math.min(high, Math.max(low, value));
}

// The value in the arrow keys' way, or null where the key is not one of them.
export function keyed(key: string, value: number, low: number, high: number, step: number): number | null {
  switch (key) {
    case "ArrowRight": case "ArrowUp": return clamp(value + step, low, high);
    case "ArrowLeft": case "ArrowDown": return clamp(value - step, low, high);
    case "PageUp": return clamp(value + 10 * step, low, high);
    case "PageDown": return clamp(value - 10 * step, low, high);
    case "Home": return low;
    case "End": return high;
    default: return null;
  }
}

// Follows a pointer from where it goes down to where it goes up.
export function follow(move: (event: PointerEvent, box: DOMRect, done: boolean) => void) {
  return (event: PointerEvent) => {
    const target = event.currentTarget as Element;
    if (event.button !== 0) return;
    const box = () => (target.closest("svg") ?? target).getBoundingClientRect();
    target.setPointerCapture(event.pointerId);
    const on = (e: Event) => move(e as PointerEvent, box(), false);
    const off = (e: Event) => {
      target.removeEventListener("pointermove", on);
      target.removeEventListener("pointerup", off);
      target.removeEventListener("pointercancel", off);
      move(e as PointerEvent, box(), true);
    };
    target.addEventListener("pointermove", on);
    target.addEventListener("pointerup", off);
    target.addEventListener("pointercancel", off);
    move(event, box(), false);
  };
}

export function dragged(id: string, handle: Handle, f: Frame): TemplateResult {
  const to = (event: PointerEvent, box: DOMRect, done: boolean) => {
    const pixel = (event.clientX - box.left) * f.width / Math.max(1, box.width);
    handle.move(clamp(f.toX(pixel), handle.low, handle.high), done);
  };
  const key = (event: KeyboardEvent) => {
    const value = keyed(event.key, handle.value, handle.low, handle.high, handle.step);
    if (value === null) return;
    event.preventDefault();
    handle.move(value, true);
  };
  return svg`<rect class="drag" data-drag=${id} x=${f.left} y=${f.top} width=${f.right - f.left}
    height=${f.bottom - f.top} tabindex="0" role="slider" aria-label=${handle.label}
    aria-valuemin=${handle.low} aria-valuemax=${handle.high} aria-valuenow=${round(handle.value)}
    aria-valuetext=${handle.text} @pointerdown=${follow(to)} @keydown=${key}/>`;
}

function sketched(plot: Plot, sketch: Sketch, f: Frame): TemplateResult {
  const step = sketch.at.length > 1 ? (sketch.at[1] ?? 1) - (sketch.at[0] ?? 0) : 1;
  let last: Point | null = null;
  // Every column between two places of the pointer gets its height, so that quick strokes leave no gap.
  const to = (event: PointerEvent, box: DOMRect, done: boolean) => {
    const scale = f.width / Math.max(1, box.width);
    const now: Point = [f.toX((event.clientX - box.left) * scale), f.toY((event.clientY - box.top) * scale)];
    const from = last ?? now;
    const low = Math.min(from[0], now[0]) - step / 2;
    const high = Math.max(from[0], now[0]) + step / 2;
    sketch.at.forEach((x, index) => {
      if (x < low || x > high) return;
      const share = now[0] === from[0] ? 1 : clamp((x - from[0]) / (now[0] - from[0]), 0, 1);
      sketch.set(index, clamp(from[1] + share * (now[1] - from[1]), plot.y.low, plot.y.high));
    });
    last = done ? null : now;
  };
  const key = (index: number) => (event: KeyboardEvent) => {
    const value = sketch.values[index] ?? (plot.y.low + plot.y.high) / 2;
    const next = event.key === "ArrowLeft" || event.key === "ArrowRight" ? null
      : keyed(event.key, value, plot.y.low, plot.y.high, (plot.y.high - plot.y.low) / 50);
    if (next === null) return;
    event.preventDefault();
    sketch.set(index, next);
  };
  const drawn = sketch.at.flatMap((x, i) => {
    const y = sketch.values[i];
    return y === null || y === undefined ? [] : [[x, y] as Point];
  });
  return svg`
    <rect class="draw" data-draw=${plot.id} x=${f.left} y=${f.top} width=${f.right - f.left} height=${f.bottom - f.top}
      @pointerdown=${follow(to)}/>
    <path class="line guess" d=${path(drawn, f)}/>
    ${sketch.at.map((x, i) => {
      const y = sketch.values[i] ?? null;
      return svg`<circle class="handle ${y === null ? "unset" : ""}" cx=${round(f.x(x))}
        cy=${round(f.y(y ?? (plot.y.low + plot.y.high) / 2))} r=${f.text * 0.42} tabindex="0" role="slider"
        aria-orientation="vertical" aria-label=${`your curve at ${sketch.sayX(x)}`} aria-valuemin=${plot.y.low}
        aria-valuemax=${plot.y.high} aria-valuenow=${round(y ?? (plot.y.low + plot.y.high) / 2)}
        aria-valuetext=${y === null ? "not drawn yet" : sketch.sayY(y)} @keydown=${key(i)}/>`;
    })}`;
}

function ghostly(points: readonly Point[], f: Frame): TemplateResult | typeof nothing {
  const named = points[Math.floor(points.length * 0.6)];
  if (points.length < 2 || !named) return nothing;
  return svg`<path class="line ghost" d=${path(points, f)}/>
    <text class="name ghost" text-anchor="end" x=${round(f.x(named[0]) - 6)} y=${round(f.y(named[1]) - 6)}>you</text>`;
}

export function drawn(plot: Plot, sizes: Sizes): TemplateResult {
  const scale = sizes.text() / LETTERS;
  const shown = Math.max(240, sizes.width(plot.id));
  const aspect = plot.aspect ?? (shown < 520 ? 0.85 : 0.62);
  const tall = Math.min(shown * aspect, innerHeight * 0.68) / scale;
  const picture = sizes.figures().picture(plot.id, {panels: [panelOf(plot)]},
    {width: Math.max(NARROWEST, Math.round(shown / scale)), edge: 3, height: Math.round(Math.max(tall - AROUND, LEAST)), curve: CURVE});
  const f = frameOf(picture, picture.panels[0]);
  const inside = `in-${plot.id}`;
  return html`<div class="plot" data-plot=${plot.id}>
    <svg class="figure" viewBox="0 0 ${f.width} ${f.height}" width=${round(f.width * scale)} height=${round(f.height * scale)} role="group"
      aria-label=${plot.title} font-size=${f.text}>
      <g .innerHTML=${picture.svg}></g>
      <defs><clipPath id=${inside}><rect x=${f.left} y=${f.top - 4} width=${f.right - f.left + 4} height=${f.bottom - f.top + 4}/></clipPath></defs>
      ${plot.under ? svg`<path class="area" clip-path=${`url(#${inside})`} d=${shaded(plot.under, f)}/>` : nothing}
      ${plot.ghost ? ghostly(plot.ghost, f) : nothing}
      ${(plot.dots ?? []).map((d) => svg`<circle class="dot ${d.look}" cx=${round(f.x(d.at[0]))} cy=${round(f.y(d.at[1]))} r="5"/>`)}
      ${plot.handle ? dragged(plot.id, plot.handle, f) : nothing}
      ${plot.sketch ? sketched(plot, plot.sketch, f) : nothing}
    </svg></div>`;
}

// The y of a curve at x, between its points; x rises.
export function along(points: readonly Point[], x: number): number {
  let low = 0;
  let high = points.length - 1;
  if (high < 0) return NaN;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((points[middle]?.[0] ?? Infinity) <= x) low = middle;
    else high = middle;
  }
  const a = points[low];
  const b = points[high];
  if (!a || !b) return NaN;
  if (a[0] === b[0]) return a[1];
  const share = clamp((x - a[0]) / (b[0] - a[0]), 0, 1);
  return a[1] + share * (b[1] - a[1]);
}

// The area under a curve between two places, by trapezia.
export function under(points: readonly Point[], from: number, to: number): number {
  const inside = points.filter((p) => p[0] > from && p[0] < to);
  const all: Point[] = [[from, along(points, from)], ...inside, [to, along(points, to)]];
  let sum = 0;
  for (let i = 1; i < all.length; ++i) {
    const a = all[i - 1];
    const b = all[i];
    if (a && b) sum += (b[0] - a[0]) * (a[1] + b[1]) / 2;
  }
  return sum;
}

// The part of a curve between two places, its ends included.
export function between(points: readonly Point[], from: number, to: number): Point[] {
  return [[from, along(points, from)], ...points.filter((p) => p[0] > from && p[0] < to), [to, along(points, to)]];
}
