// The linked views of the room: chambers, pressure over volume, force over travel, energy and travel
// over time. One place, an instant or a travel held by hand, is shown in all, and each can move it.

import {html, nothing, svg, type TemplateResult} from "lit-html";
import {Bench, Units, type Instant, type Where} from "./bench";
import type {Picture} from "./model";
import {along, between, clamp, dragged, drawn, follow, frameOf, keyed, round, tell, type Axis, type Columns, type Line, type Point, type Sizes} from "./plot";
import {deepestOf} from "./thin";

export interface Shared {
  readonly a: Bench;
  readonly b: Bench | null;
  readonly where: Where;
  readonly units: Units;
  readonly bar: boolean; // pressures in bar, else psi
  readonly sizes: Sizes;
  readonly hand: (travel: number, done: boolean) => void;
  readonly ride: (time: number, done: boolean) => void;
}

export function sayPressure(pascal: number, s: {units: Units; bar: boolean}): string {
  const unit = s.bar ? "bar" : "psi";
  return `${tell(s.units.say(pascal, unit), s.bar ? 2 : 1)} ${unit}`;
}

// A round number not below the value, for the end of an axis.
export function roundUp(value: number): number {
  if (!(value > 0)) return 1;
  const unit = 10 ** Math.floor(Math.log10(value));
  const steps = [1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10];
  return (steps.find((step) => step * unit >= value * 0.9999) ?? 10) * unit;
}

// The end of an axis that goes below 0 where the values do.
export function lowEnd(least: number): number {
  return least < 0 ? -roundUp(-least) : 0;
}

function most(points: readonly (readonly [number, number])[] | null | undefined, which: 0 | 1): number {
  return (points ?? []).reduce((top, p) => Math.max(top, Number.isFinite(p[which]) ? p[which] : 0), 0);
}

function lowest(points: readonly (readonly [number, number])[] | null | undefined, which: 0 | 1): number {
  return (points ?? []).reduce((low, p) => Math.min(low, Number.isFinite(p[which]) ? p[which] : 0), 0);
}

function deepest(travelled: Columns): number {
  return travelled.y[deepestOf(travelled.y)] ?? 0;
}

const extras = new WeakMap<Bench, {b: Bench; points: Point[]}>();

// What b pushes more than a, slowly, over the travel that both have; the same list for the same two.
export function extra(a: Bench, b: Bench): Point[] {
  const known = extras.get(a);
  if (known?.b === b) return known.points;
  const points = a.slow.filter(([x]) => x <= b.end).map(([x, force]): Point => [x, along(b.slow, x) - force]);
  extras.set(a, {b, points});
  return points;
}

export function travelAxis(...benches: (Bench | null)[]): Axis {
  return {low: 0, high: Math.max(...benches.map((b) => b?.end ?? 0)) * 1.02, label: "travel [mm]"};
}

function handle(s: Shared, label: string) {
  const now = s.a.at(s.where).travel;
  return {
    label, value: clamp(now, 0, s.a.end), low: 0, high: s.a.end, step: 1, text: `${tell(now, 0)} millimetres of travel`,
    move: s.hand,
  };
}

export function forceView(s: Shared): TemplateResult {
  const {a, b} = s;
  const now = a.at(s.where);
  const other = b?.at(s.where);
  const place = clamp(now.travel, 0, a.end);
  const top = Math.max(most(a.slow, 1), a.volumes ? most(a.fast, 1) : 0, most(b?.slow, 1), most(a.pressed, 1), most(b?.pressed, 1), now.force);
  const lines: Line[] = [];
  if (b) {
    lines.push({points: b.slow, look: "b", name: "B"});
    if (b.pressed.length > 1) lines.push({points: b.pressed, look: "b thin"});
  }
  if (a.volumes) lines.push({points: a.fast, look: "a thin fast", name: "fast from sag"});
  lines.push({points: a.slow, look: "a", name: b ? "A" : a.volumes ? "slow" : "coil"});
  if (a.pressed.length > 1) lines.push({points: a.pressed, look: "a thin"});
  return drawn({
    id: "force", title: "force of the spring over travel", x: travelAxis(a, b),
    y: {low: lowEnd(Math.min(...[a.slow, a.pressed, b?.slow, b?.pressed].map((points) => lowest(points, 1)))), high: roundUp(top), label: "force of the spring [N]"}, lines,
    under: between(a.slow, 0, place),
    dots: [...(other ? [{at: [other.travel, other.force] as const, look: "b" as const}] : []), {at: [now.travel, now.force], look: "a"}],
    marks: [{x: a.sag, text: "sag"}], handle: handle(s, "travel, on the curve of force"),
  }, s.sizes);
}

export function pressureView(s: Shared): TemplateResult | typeof nothing {
  const {a, b, units} = s;
  if (!a.pv || !a.volumes) return nothing;
  const unit = s.bar ? "bar" : "psi";
  const now = a.at(s.where);
  const say = (points: readonly (readonly [number, number])[]) =>
    points.map(([v, p]) => [v, units.say(p, unit)] as const);
  const slow = cached(a.pv, unit, say);
  const loop = cached(a.looped, unit, say);
  const slowB = b?.pv ? cached(b.pv, unit, say) : null;
  const loopB = b ? cached(b.looped, unit, say) : [];
  const volumes = a.volumes;
  const high = Math.max(most(slow, 0), most(slowB, 0));
  const top = Math.max(most(slow, 1), most(slowB, 1), most(loop, 1), most(loopB, 1));
  const volume = now.volume ?? NaN;
  const full = along(volumes, 0);
  const least = along(volumes, a.end);
  const rising = [...volumes].reverse().map(([x, v]) => [v, x] as const);
  const lines: Line[] = [];
  if (slowB) lines.push({points: slowB, look: "b"});
  if (loopB.length > 1) lines.push({points: loopB, look: "b thin"});
  lines.push({points: slow, look: "a"});
  if (loop.length > 1) lines.push({points: loop, look: "a thin"});
  return drawn({
    id: "pressure", title: "pressure of the main chamber over its volume",
    x: {low: 0, high: roundUp(high), label: "volume of the main chamber [cm³]"},
    y: {low: 0, high: roundUp(top), label: `absolute pressure [${unit}]`}, lines,
    under: between(slow, volume, full),
    dots: [{at: [volume, units.say(now.main ?? NaN, unit)], look: "a"}],
    handle: {
      label: "volume of the main chamber", value: clamp(volume, least, full), low: least, high: full, step: 1,
      text: `${tell(volume, 0)} cubic centimetres`, move: (v, done) => s.hand(along(rising, v), done),
    },
  }, s.sizes);
}

// The rides as the program draws them; across their whole length the place where the views are, and a
// handle. Rides of minutes are drawn over time, others over distance.
export function rideView(s: Shared, ride: Bench, picture: Picture, scale: number): TemplateResult {
  const last = picture.panels[picture.panels.length - 1];
  const whole = picture.panels.filter((panel) => last && panel.over === last.over && panel.x.low === last.x.low && panel.x.high === last.x.high);
  const f = {...frameOf(picture, last), top: whole[0]?.top ?? 0};
  const overTime = last?.over.startsWith("time") ?? false;
  const time = s.where.by === "ride" ? s.where.time : NaN;
  const x = f.x(overTime ? time : along(ride.gone, time));
  const shown = Number.isFinite(x) && x >= f.left && x <= f.right;
  return html`<svg class="figure" viewBox="0 0 ${f.width} ${f.height}" width=${round(f.width * scale)} height=${round(f.height * scale)} role="group" aria-label=${picture.description}>
    <g .innerHTML=${picture.svg}></g>
    ${shown ? svg`<line class="cursor" x1=${round(x)} x2=${round(x)} y1=${f.top} y2=${f.bottom}/>` : nothing}
    ${dragged("ride", {
      label: "time of the ride, on its figure", value: Number.isFinite(time) ? time : 0, low: 0, high: ride.duration, step: 0.01,
      text: Number.isFinite(time) ? `${tell(time, 2)} seconds` : "held by hand", move: s.ride,
    }, overTime ? f : {...f, toX: (place) => along(ride.times, f.toX(place))})}
  </svg>`;
}

type Points = readonly (readonly [number, number])[];
const said = new WeakMap<object, {unit: string; points: Points}>();

// The same list of points for the same list, so that its path is worked out once.
function cached(points: Points, unit: string, say: (points: Points) => Points): Points {
  const known = said.get(points);
  if (known?.unit === unit) return known.points;
  const made = say(points);
  said.set(points, {unit, points: made});
  return made;
}

interface Grip {
  readonly id: string;
  readonly label: string;
  readonly text: string; // the value with its unit
  readonly width: number; // of the drawing
  readonly height: number;
  readonly travel: (pixel: number) => number; // that a place across the drawing stands for
}

// A whole drawing as a slider of the travel.
function grip(s: Shared, of: Grip): TemplateResult {
  const {end} = s.a;
  const now = clamp(s.a.at(s.where).travel, 0, end);
  const to = (event: PointerEvent, box: DOMRect, done: boolean) =>
    s.hand(of.travel((event.clientX - box.left) * of.width / Math.max(1, box.width)), done);
  const key = (event: KeyboardEvent) => {
    const next = keyed(event.key, now, 0, end, 1);
    if (next === null) return;
    event.preventDefault();
    s.hand(next, true);
  };
  return svg`<rect class="drag" data-drag=${of.id} width=${of.width} height=${of.height} tabindex="0" role="slider" aria-label=${of.label}
    aria-valuemin="0" aria-valuemax=${end} aria-valuenow=${now.toFixed(1)} aria-valuetext=${of.text} @pointerdown=${follow(to)} @keydown=${key}/>`;
}

// The two chambers as one tube, the piston where the travel has it; lengths to scale.
export function chamberView(s: Shared): TemplateResult | typeof nothing {
  const {a} = s;
  const {volumes, negativeVolumes} = a;
  const now = a.at(s.where);
  const text = s.sizes.text();
  const width = Math.max(240, s.sizes.width("chambers"));
  const rows = s.b ? 2 : 1;
  const tube = Math.max(54, text * 3.4);
  const height = rows * (tube + text * 2.2) + text * 1.4;
  if (!volumes) return nothing;
  const shapes = [a, ...(s.b?.volumes ? [s.b] : [])].map((bench) => shapeOf(bench));
  const before = Math.max(...shapes.map((shape) => shape.before));
  const length = before + Math.max(...shapes.map((shape) => shape.after));
  const scale = (width - 12) / length;
  return html`<div class="plot" data-plot="chambers">
    <svg viewBox="0 0 ${width} ${height}" width=${width} height=${height} font-size=${text} role="group" aria-label="the air spring: negative chamber, piston, main chamber">
      ${[a, ...(s.b?.volumes ? [s.b] : [])].map((bench, row) => oneTube(bench, s, 6 + before * scale, row * (tube + text * 2.2) + text * 0.4, tube, scale, row === 1))}
      ${grip(s, {id: "chambers", label: "travel, on the piston", text: `${tell(now.travel, 0)} millimetres of travel`, width, height, travel: (pixel) => clamp((pixel - 6) / scale - before, 0, a.end)})}
      ${negativeVolumes ? nothing : svg`<text x="6" y=${height - text * 0.3}>no negative chamber</text>`}
    </svg></div>`;
}

interface Shape {
  readonly before: number; // mm of tube on the negative side of full extension
  readonly after: number; // and on the main side, spacers included
  readonly main: number; // mm that the main chamber has at full extension
  readonly spacers: number; // of these so many, each of this length
  readonly spacer: number;
}

function shapeOf(bench: Bench): Shape {
  const at = (points: Points | null, x: number) => points ? along(points, x) : 0;
  const end = bench.end;
  const area = (at(bench.volumes, 0) - at(bench.volumes, end)) / end; // cm3 a mm
  const negative = (at(bench.negativeVolumes, end) - at(bench.negativeVolumes, 0)) / end;
  const spacers = bench.setting("fork.spacers") ?? 0;
  const spacer = (bench.setting("fork.air.spacer_volume") ?? 0) * 1e6 / area;
  const main = at(bench.volumes, 0) / area;
  return {
    before: negative > 0 ? at(bench.negativeVolumes, 0) / negative : 4, main, spacers, spacer,
    after: main + spacers * spacer + 2,
  };
}

function oneTube(bench: Bench, s: Shared, zero: number, top: number, tube: number, scale: number, second: boolean): TemplateResult {
  const shape = shapeOf(bench);
  const now: Instant = bench.at(s.where);
  const text = s.sizes.text();
  const x = (mm: number) => Math.round((zero + mm * scale) * 10) / 10;
  const piston = x(clamp(now.travel, 0, bench.end));
  const left = x(-shape.before);
  const end = x(shape.main);
  const right = x(shape.main + shape.spacers * shape.spacer);
  // Denser gas is drawn darker.
  const shade = (pascal: number | null) => clamp((pascal ?? 0) / 2.2e6, 0.04, 0.95);
  const thick = 5;
  return svg`<g>
    ${bench.negativeVolumes ? svg`<rect class="gas negative" x=${left} y=${top} width=${Math.max(0, piston - left)} height=${tube} opacity=${shade(now.negative)}/>` : nothing}
    <rect class="gas" x=${piston} y=${top} width=${Math.max(0, end - piston)} height=${tube} opacity=${shade(now.main)}/>
    ${Array.from({length: shape.spacers}, (_, k) => svg`<rect class="spacer" x=${x(shape.main + k * shape.spacer)} y=${top} width=${Math.max(1, shape.spacer * scale)} height=${tube}/>`)}
    <rect class="chamber-wall" x=${left} y=${top} width=${right - left} height=${tube}/>
    <rect class="piston" x=${piston - thick} y=${top - 3} width=${thick} height=${tube + 6}/>
    <line class="shaft" x1=${left - 6} x2=${piston - thick} y1=${top + tube / 2} y2=${top + tube / 2} stroke-width="4"/>
    <text x=${left} y=${top + tube + text * 1.2}>${second ? "B " : s.b ? "A " : ""}${now.negative === null ? "" : `negative ${sayPressure(now.negative, s)}`}</text>
    <text x=${right} y=${top + tube + text * 1.2} text-anchor="end">main ${now.main === null ? "" : sayPressure(now.main, s)}, ${tell(now.volume ?? NaN, 0)} cm³</text>
  </g>`;
}

// Where the work of the stroke is: bars on one scale of joules.
export function energyView(s: Shared): TemplateResult {
  const {a, b} = s;
  const text = s.sizes.text();
  const width = Math.max(240, s.sizes.width("energy"));
  const line = text * (b ? 2.9 : 2.5);
  const rows = [
    {name: "from rider and bike", look: "rider", of: (i: Instant) => i.energies.into},
    {name: "in the spring", look: "air", of: (i: Instant) => i.energies.spring},
    {name: "damper and friction", look: "damper", of: (i: Instant) => i.energies.lost},
    {name: "floor: bumper, metal", look: "floor", of: (i: Instant) => i.energies.floor},
  ];
  const now = a.at(s.where);
  const other = b?.at(s.where);
  const high = roundUp(Math.max(a.work(a.end), b?.work(b.end) ?? 0, a.energyEnds[1], b?.energyEnds[1] ?? 0, 1));
  const low = lowEnd(Math.min(a.energyEnds[0], b?.energyEnds[0] ?? 0));
  const height = rows.length * line + text * 1.8;
  const right = width - text * (b ? 9 : 4.6);
  const x = (joule: number) => (clamp(joule || 0, low, high) - low) / (high - low) * right;
  const zero = x(0);
  const thick = text * (b ? 0.55 : 0.95);
  return html`<div class="plot" data-plot="energy">
    <svg viewBox="0 0 ${width} ${height}" width=${width} height=${height} font-size=${text} role="group" aria-label="where the work of this stroke is">
      ${rows.map((row, k) => {
        const y = k * line;
        const joule = row.of(now);
        const beside = other ? row.of(other) : 0;
        return svg`<g>
          <text x=${zero + text * 0.3} y=${y + text}>${row.name}</text>
          <rect class=${`bar ${row.look}`} x=${Math.min(zero, x(joule))} y=${y + text * 1.3} width=${Math.abs(x(joule) - zero)} height=${thick}/>
          <text x=${Math.max(zero, x(joule), other ? x(beside) : 0) + text * 0.4} y=${y + text * (b ? 2.2 : 2.1)}>${tell(joule, 0)} J${other ? ` · B ${tell(beside, 0)} J` : ""}</text>
          ${other ? svg`<rect class=${`bar ${row.look}`} opacity=".45" x=${Math.min(zero, x(beside))} y=${y + text * 1.3 + thick + 1} width=${Math.abs(x(beside) - zero)} height=${thick}/>` : nothing}
        </g>`;
      })}
      <line class="frame" stroke-width="1" x1=${zero} x2=${zero} y1="0" y2=${rows.length * line}/>
      ${grip(s, {id: "energy", label: "travel, by the work in the spring", text: `${tell(now.energies.spring, 0)} joules in the spring`, width, height, travel: (pixel) => a.travelOfWork(low + clamp(pixel / right, 0, 1) * (high - low))})}
    </svg></div>`;
}

// The same set-up with other numbers of spacers.
export interface Spread {
  readonly count: number;
  readonly travelled: Columns; // s, mm
}

export function timeView(s: Shared, spread: readonly Spread[]): TemplateResult | typeof nothing {
  const {a, b} = s;
  if (!a.travelled) return nothing;
  const time = s.where.by === "ride" ? s.where.time : NaN;
  const lines: Line[] = spread.map((row, i) => ({
    points: row.travelled, look: {shade: i / Math.max(1, spread.length - 1)}, name: `${row.count} ${row.count === 1 ? "spacer" : "spacers"}`,
  }));
  if (b?.travelled) lines.push({points: b.travelled, look: "b"});
  lines.push({points: a.travelled, look: "a"});
  const now = a.at(s.where);
  return drawn({
    id: "time", title: "travel over time", aspect: s.sizes.width("time") > 700 ? 0.3 : 0.55,
    x: {low: 0, high: Math.max(a.duration, b?.duration ?? 0), label: "time [s]"},
    y: {low: 0, high: Math.max(a.end, b?.end ?? 0, deepest(a.travelled), ...spread.map((row) => deepest(row.travelled))) * 1.04, label: "travel [mm]"}, lines,
    dots: Number.isFinite(time) ? [{at: [time, now.travel], look: "a"}] : [],
    handle: {
      label: "time of the ride", value: Number.isFinite(time) ? time : 0, low: 0, high: a.duration, step: 0.01,
      text: Number.isFinite(time) ? `${tell(time, 2)} seconds` : "held by hand", move: s.ride,
    },
  }, s.sizes);
}

export function differenceView(s: Shared): TemplateResult | typeof nothing {
  const {a, b} = s;
  if (!b) return nothing;
  const points = extra(a, b);
  const high = roundUp(Math.max(most(points, 1), 10));
  const low = -roundUp(Math.max(...points.map((p) => -p[1]), 10));
  return drawn({
    id: "difference", title: "force of B less that of A over travel", x: travelAxis(a, b),
    y: {low, high, label: "B less A, slow [N]"}, lines: [{points, look: "b"}], level: "",
    areas: [{points, look: "b"}], marks: [{x: a.sag, text: "sag"}],
    handle: handle(s, "travel, on the difference of force"),
  }, s.sizes);
}
