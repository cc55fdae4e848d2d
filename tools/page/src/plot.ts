// A plot as SVG: axes with ticks, lines, shaded areas, labels and one dot that can be dragged along x.
// It is drawn at the size it is shown at, so that its text has the size of the text around it.

import {html, nothing, svg, type TemplateResult} from "lit-html";
import {scaleLinear} from "d3-scale";
import {area, line} from "d3-shape";

export type Point = readonly [number, number];

export interface Axis {
  readonly low: number;
  readonly high: number;
  readonly label: string; // with its unit
  readonly ticks?: number;
  readonly numbers?: boolean; // false: no numbers, as on an empty sheet
}

export interface Line {
  readonly points: readonly Point[];
  readonly look: string; // a class of the style sheet: a, b, ghost, ramp-0 to ramp-4, thin ...
  readonly name?: string; // written at the line's end
  readonly at?: Point; // where the name stands, in the data's units; else at the end
}

export interface Area {
  readonly points: readonly Point[];
  readonly base: number | readonly Point[]; // closed at this y, or along these points
  readonly look: string;
}

export interface Dot {
  readonly at: Point;
  readonly look: string;
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

export interface Plot {
  readonly id: string;
  readonly title: string; // for who can't see it
  readonly x: Axis;
  readonly y: Axis;
  readonly lines: readonly Line[];
  readonly areas?: readonly Area[];
  readonly dots?: readonly Dot[];
  readonly marks?: readonly Mark[];
  readonly handle?: Handle;
  readonly aspect?: number; // height over width
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
export interface Sizes {
  width(id: string): number;
  text(): number;
}

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
  readonly toX: (pixel: number) => number;
  readonly toY: (pixel: number) => number;
}

export function tell(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return "–";
  const text = value.toFixed(decimals);
  const parts = (/^-0(\.0*)?$/.test(text) ? text.slice(1) : text).split(".");
  const whole = (parts[0] ?? "").replace(/\B(?=(\d{3})+(?!\d))/g, "\u202f").replace("-", "−");
  return parts.length > 1 ? `${whole}.${parts[1]}` : whole;
}

export function frame(plot: Plot, sizes: Sizes): Frame {
  const text = sizes.text();
  const width = Math.max(240, sizes.width(plot.id));
  const height = Math.round(Math.max(Math.min(width * (plot.aspect ?? (width < 520 ? 0.85 : 0.62)), innerHeight * 0.68), text * 11));
  const left = Math.round(text * 3.4);
  const right = width - Math.round(text * 0.9);
  const top = Math.round(text * 2);
  const bottom = height - Math.round(text * 2.9);
  const x = scaleLinear([plot.x.low, plot.x.high], [left, right]);
  const y = scaleLinear([plot.y.low, plot.y.high], [bottom, top]);
  return {
    width, height, left, right, top, bottom, text,
    x: (value) => x(value), y: (value) => y(value),
    toX: (pixel) => x.invert(pixel), toY: (pixel) => y.invert(pixel),
  };
}

function round(value: number): number {
  return Math.round(value * 10) / 10;
}

const paths = new WeakMap<readonly Point[], {key: string; d: string}>();

// Curves stay the same from frame to frame of a ride: each is worked out once for a size and range.
export function path(points: readonly Point[], f: Frame): string {
  const key = `${f.width} ${f.height} ${f.toX(0)} ${f.toX(100)} ${f.toY(0)} ${f.toY(100)}`;
  const known = paths.get(points);
  if (known?.key === key) return known.d;
  const d = made(points, f);
  paths.set(points, {key, d});
  return d;
}

function made(points: readonly Point[], f: Frame): string {
  return line<Point>().x((p) => round(f.x(p[0]))).y((p) => round(f.y(p[1])))([...points]) ?? "";
}

function areaPath(shape: Area, f: Frame): string {
  const {base} = shape;
  if (typeof base === "number") {
    return area<Point>().x((p) => round(f.x(p[0]))).y0(round(f.y(base)))
      .y1((p) => round(f.y(p[1])))([...shape.points]) ?? "";
  }
  return `${path([...shape.points, ...[...base].reverse()], f)}Z`;
}

function ticksOf(axis: Axis, room: number, text: number): number[] {
  const wanted = axis.ticks ?? Math.max(2, Math.min(6, Math.floor(room / (text * 3.6))));
  return scaleLinear([axis.low, axis.high], [0, 1]).ticks(wanted);
}

function decimals(ticks: readonly number[]): number {
  const step = ticks.length > 1 ? Math.abs((ticks[1] ?? 0) - (ticks[0] ?? 0)) : 1;
  return Math.max(0, Math.min(4, Math.ceil(-Math.log10(step) - 1e-9)));
}

function axes(plot: Plot, f: Frame): TemplateResult {
  const xs = ticksOf(plot.x, f.right - f.left, f.text);
  const ys = ticksOf(plot.y, (f.bottom - f.top) * 1.6, f.text);
  const dx = decimals(xs);
  const dy = decimals(ys);
  return svg`
    <g class="grid">
      ${xs.map((t) => svg`<line x1=${round(f.x(t))} x2=${round(f.x(t))} y1=${f.bottom} y2=${f.top}/>`)}
      ${ys.map((t) => svg`<line x1=${f.left} x2=${f.right} y1=${round(f.y(t))} y2=${round(f.y(t))}/>`)}
    </g>
    <g class="axis">
      <line x1=${f.left} x2=${f.right} y1=${f.bottom} y2=${f.bottom}/>
      <line x1=${f.left} x2=${f.left} y1=${f.bottom} y2=${f.top}/>
      ${plot.y.low < 0 && plot.y.high > 0 ? svg`<line class="zero" x1=${f.left} x2=${f.right} y1=${round(f.y(0))} y2=${round(f.y(0))}/>` : nothing}
      ${plot.x.numbers === false ? nothing : xs.map((t) => svg`<text x=${round(f.x(t))}
        y=${f.bottom + f.text * 1.2} text-anchor="middle">${tell(t, dx)}</text>`)}
      ${plot.y.numbers === false ? nothing : ys.map((t) => svg`<text x=${f.left - f.text * 0.4}
        y=${round(f.y(t)) + f.text * 0.34} text-anchor="end">${tell(t, dy)}</text>`)}
      <text class="label" x=${f.right} y=${f.bottom + f.text * 2.4} text-anchor="end">${plot.x.label}</text>
      <text class="label" x=${f.left - f.text * 2.6} y=${f.top - f.text * 0.8}>${plot.y.label}</text>
    </g>`;
}

// The names of lines, kept apart from each other and inside the frame.
function names(plot: Plot, f: Frame): TemplateResult[] {
  const rows = plot.lines.flatMap((l) => {
    const last = l.at ?? l.points[l.points.length - 1];
    if (!l.name || !last) return [];
    return [{name: l.name, look: l.look, x: f.x(last[0]), y: f.y(last[1]) - f.text * 0.5}];
  });
  rows.sort((one, other) => one.y - other.y);
  let free = f.top + f.text * 0.2;
  for (const row of rows) {
    row.y = Math.max(row.y, free);
    free = row.y + f.text * 1.15;
  }
  let roof = f.bottom - f.text * 0.4;
  for (const row of [...rows].reverse()) {
    row.y = Math.min(row.y, roof);
    roof = row.y - f.text * 1.15;
  }
  return rows.map((row) => svg`<text class="name ${row.look}" text-anchor="end"
    x=${round(Math.min(f.right - f.text * 0.4, row.x - f.text * 0.5))} y=${round(row.y)}>${row.name}</text>`);
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

function dragged(plot: Plot, handle: Handle, f: Frame): TemplateResult {
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
  return svg`<rect class="drag" data-drag=${plot.id} x=${f.left} y=${f.top} width=${f.right - f.left}
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

export function drawn(plot: Plot, sizes: Sizes): TemplateResult {
  const f = frame(plot, sizes);
  return html`<div class="plot" data-plot=${plot.id}>
    <svg viewBox="0 0 ${f.width} ${f.height}" width=${f.width} height=${f.height} role="group"
      aria-label=${plot.title} font-size=${f.text}>
      <defs><clipPath id=${`in-${plot.id}`}><rect x=${f.left} y=${f.top - 4} width=${f.right - f.left + 4} height=${f.bottom - f.top + 4}/></clipPath></defs>
      ${axes(plot, f)}
      <g clip-path=${`url(#in-${plot.id})`}>${(plot.areas ?? []).map((shape) => svg`<path class="area ${shape.look}" d=${areaPath(shape, f)}/>`)}</g>
      ${(plot.marks ?? []).map((m) => svg`<g class="mark"><line x1=${round(f.x(m.x))} x2=${round(f.x(m.x))}
        y1=${f.bottom} y2=${f.top}/><text x=${round(f.x(m.x)) + f.text * 0.3} y=${f.top + f.text * 0.8}>${m.text}</text></g>`)}
      <g clip-path=${`url(#in-${plot.id})`}>${plot.lines.map((l) => svg`<path class="line ${l.look}" d=${path(l.points, f)}/>`)}</g>
      ${names(plot, f)}
      ${(plot.dots ?? []).map((d) => svg`<circle class="dot ${d.look}" cx=${round(f.x(d.at[0]))}
        cy=${round(f.y(d.at[1]))} r=${f.text * 0.45}/>`)}
      ${plot.handle ? dragged(plot, plot.handle, f) : nothing}
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
