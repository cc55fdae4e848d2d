// The fork on the terrain, to scale: ground, wheel, fork, the front of the frame and the rider's upper
// body, at one instant of a ride or held by hand. The camera goes along with the wheel.

import {html, nothing, svg, type TemplateResult} from "lit-html";
import {Bench, type Where} from "./bench";
import type {Ground} from "./model";
import {clamp, follow, keyed, tell, type Sizes} from "./plot";

const WINDOW = 1.18; // height of what is seen, m
const LOWER = 0.36; // axle to the end of the lower legs, m
const CROWN = 0.4; // axle to crown of a fork that is fully in, m
const N_PER_M = 6000; // of the arrow of force

interface Pose {
  readonly axle: readonly [number, number];
  readonly up: readonly [number, number]; // along the legs
  readonly travel: number;
  readonly full: number;
  readonly radius: number;
  readonly body: number; // how far the upper body is from where the arms are relaxed, m
  readonly force: number; // of the ground, N
  readonly normal: readonly [number, number];
}

function pose(bench: Bench, where: Where, time: number): Pose | null {
  const traces = bench.traces;
  if (!traces) return null;
  const i = bench.index(time);
  const value = (name: string) => traces.channels[name]?.[i] ?? NaN;
  const radius = bench.setting("bike.wheel_radius") ?? NaN;
  const head = (bench.setting("bike.head_angle") ?? NaN) - value("pitch");
  const ridden = value("travel");
  const travel = where.by === "hand" ? where.travel * 1e-3 : ridden;
  const slope = Math.atan(value("path_slope"));
  const made: Pose = {
    axle: [value("distance") - ridden * Math.cos(head), value("wheel_height") + radius],
    up: [-Math.cos(head), Math.sin(head)], travel, full: bench.end * 1e-3, radius,
    body: value("body_height") - value("sprung_height"), force: where.by === "hand" ? 0 : value("ground_force"),
    normal: [-Math.sin(slope), Math.cos(slope)],
  };
  return [...made.axle, ...made.up, travel].every(Number.isFinite) ? made : null;
}

const smooth = new WeakMap<object, Float64Array>();

// Height that the camera goes along with: the wheel's, averaged over a second.
function calm(bench: Bench): Float64Array {
  const traces = bench.traces;
  const height = traces?.channels["wheel_height"];
  if (!traces || !height) return new Float64Array();
  const made = smooth.get(traces);
  if (made) return made;
  const sums = new Float64Array(height.length + 1);
  for (let i = 0; i < height.length; ++i) sums[i + 1] = (sums[i] ?? 0) + (height[i] ?? 0);
  const step = height.length > 1 ? ((traces.time[1] ?? 0) - (traces.time[0] ?? 0)) || 1e-3 : 1e-3;
  const half = Math.max(1, Math.round(0.35 / step));
  const result = Float64Array.from(height, (_, i) => {
    const from = Math.max(0, i - half);
    const to = Math.min(height.length, i + half + 1);
    return ((sums[to] ?? 0) - (sums[from] ?? 0)) / (to - from);
  });
  smooth.set(traces, result);
  return result;
}

export interface StageDrag {
  readonly time: number;
  readonly duration: number;
  readonly move: (time: number, done: boolean) => void;
}

export function canStage(bench: Bench): boolean {
  return pose(bench, {by: "ride", time: 0}, 0) !== null;
}

export function stage(id: string, a: Bench, b: Bench | null, where: Where, drag: StageDrag, sizes: Sizes): TemplateResult | typeof nothing {
  const {time} = drag;
  const hero = pose(a, where, time);
  const over = a.traces?.ground;
  if (!hero || !over) return nothing;
  const width = Math.max(240, sizes.width(id));
  const height = Math.round(clamp(width * 0.44, 280, 620));
  const scale = height / WINDOW;
  // The camera is calm, but never so far behind that the wheel leaves the picture.
  const wheel = hero.axle[1] - hero.radius;
  const eye = clamp(calm(a)[a.index(time)] ?? 0, wheel - 0.05, wheel + 0.05);
  const place = width < 520 ? 0.52 : 0.42;
  const left = hero.axle[0] - place * width / scale;
  const px = (s: number) => Math.round((s - left) * scale * 10) / 10;
  const py = (z: number) => Math.round((height * 0.93 - (z - eye) * scale) * 10) / 10;
  const other = b && pose(b, where, time);
  const text = sizes.text();
  const seconds = drag.duration || 1;
  const pressed = hero.force > 1; // N

  const to = (() => {
    let from: {x: number; time: number} | null = null;
    return (event: PointerEvent, box: DOMRect, done: boolean) => {
      from ??= {x: event.clientX, time};
      const share = (event.clientX - from.x) / Math.max(1, box.width);
      drag.move(clamp(from.time + share * Math.min(seconds, 3), 0, seconds), done);
    };
  })();
  const key = (event: KeyboardEvent) => {
    const next = keyed(event.key, time, 0, seconds, 0.01);
    if (next === null) return;
    event.preventDefault();
    drag.move(next, true);
  };

  return html`<div class="plot" data-plot=${id}>
    <svg viewBox="0 0 ${width} ${height}" width=${width} height=${height} font-size=${text} role="group" aria-label="the fork on the terrain">
      <defs><clipPath id=${`clip-${id}`}><rect width=${width} height=${height}/></clipPath></defs>
      <g clip-path=${`url(#clip-${id})`}>
        ${ground(over, left, left + width / scale, px, py, height)}
        ${other ? svg`<g class="ghostly">${fork(other, px, py, scale)}</g>` : nothing}
        ${rider(hero, px, py, scale)}
        ${fork(hero, px, py, scale)}
        ${pressed ? arrow(hero, px, py) : nothing}
      </g>
      <text class="name" x=${width - text * 0.4} y=${text * 1.2} text-anchor="end">${where.by === "hand" ? "held by hand" : `${tell(time, 2)} s`} · travel ${tell(hero.travel * 1e3, 1)} mm</text>
      ${pressed ? svg`<text class="name force-head" x=${width - text * 0.4} y=${text * 2.6} text-anchor="end">ground ${tell(hero.force, 0)} N</text>` : nothing}
      <rect class="drag" data-drag=${id} width=${width} height=${height} tabindex="0" role="slider" aria-label="time of the ride"
        aria-valuemin="0" aria-valuemax=${seconds.toFixed(2)} aria-valuenow=${Math.min(time, seconds).toFixed(2)} aria-valuetext=${`${tell(Math.min(time, seconds), 2)} seconds`}
        @pointerdown=${follow(to)} @keydown=${key}/>
    </svg></div>`;
}

type To = (value: number) => number;

function ground(over: Ground, from: number, until: number, px: To, py: To, height: number): TemplateResult {
  const {distance, elevation} = over;
  const points: string[] = [];
  let before = 0;
  for (let i = 0; i < distance.length; ++i) {
    const s = distance[i] ?? 0;
    if (s < from) {
      before = i;
      continue;
    }
    if (points.length === 0) points.push(`${px(Math.min(s, distance[before] ?? s))},${py(elevation[before] ?? 0)}`);
    points.push(`${px(s)},${py(elevation[i] ?? 0)}`);
    if (s > until) break;
  }
  const first = points[0] ?? `0,${py(elevation[elevation.length - 1] ?? 0)}`;
  const last = points[points.length - 1] ?? first;
  const y = (point: string) => point.split(",")[1] ?? "0";
  return svg`<polygon class="ground" points=${`-9,${height + 9} -9,${y(first)} ${points.join(" ")} ${px(until) + 99},${y(last)} ${px(until) + 99},${height + 9}`}/>`;
}

function fork(p: Pose, px: To, py: To, scale: number): TemplateResult {
  const at = (along: number, ahead = 0): [number, number] => [
    px(p.axle[0] + p.up[0] * along + p.up[1] * ahead), py(p.axle[1] + p.up[1] * along - p.up[0] * ahead),
  ];
  const crown = CROWN + p.full - p.travel;
  const [ax, ay] = at(0);
  const [lx, ly] = at(LOWER);
  const [cx, cy] = at(crown);
  const [tx, ty] = at(crown + 0.13);
  const [dx, dy] = at(crown - 0.12, -1.1);
  const [ex, ey] = at(crown + 0.02, -1.1);
  const [bx, by] = at(crown + 0.2, -0.02);
  const r = p.radius * scale;
  const w = scale * 0.045;
  return svg`
    <circle class="wheel" cx=${ax} cy=${ay} r=${r - scale * 0.03} stroke-width=${scale * 0.055}/>
    <circle class="wheel" cx=${ax} cy=${ay} r=${r - scale * 0.075} stroke-width="1.5"/>
    ${[0, 1, 2, 3, 4, 5, 6, 7].map((k) => {
      const angle = p.axle[0] / p.radius + k * Math.PI / 4;
      return svg`<line class="frame" stroke-width="1" x1=${ax} y1=${ay} x2=${ax + Math.cos(angle) * (r - scale * 0.075)} y2=${ay + Math.sin(angle) * (r - scale * 0.075)}/>`;
    })}
    <g class="frame" stroke-width=${w}>
      <path d="M ${cx} ${cy} L ${tx} ${ty} M ${(cx + tx) / 2} ${(cy + ty) / 2} L ${dx} ${dy} M ${tx} ${ty} L ${ex} ${ey} M ${tx} ${ty} L ${bx} ${by}"/>
    </g>
    <line class="leg inner" x1=${ax} y1=${ay} x2=${cx} y2=${cy} stroke-width=${w * 0.75}/>
    <line class="leg" x1=${ax} y1=${ay} x2=${lx} y2=${ly} stroke-width=${w * 1.35}/>
    <circle class="wheel hub" cx=${ax} cy=${ay} r=${scale * 0.022}/>`;
}

function rider(p: Pose, px: To, py: To, scale: number): TemplateResult {
  const crown = CROWN + p.full - p.travel;
  const bar: [number, number] = [p.axle[0] + p.up[0] * (crown + 0.2) - 0.02, p.axle[1] + p.up[1] * (crown + 0.2)];
  const shoulder: [number, number] = [bar[0] - 0.26, bar[1] + 0.13 + p.body];
  const elbow: [number, number] = [bar[0] - 0.26, bar[1] - 0.02 + p.body * 0.5];
  return svg`
    <path class="frame" stroke-width=${scale * 0.03} opacity=".45" d="M ${px(bar[0])} ${py(bar[1])} L ${px(elbow[0])} ${py(elbow[1])} L ${px(shoulder[0])} ${py(shoulder[1])}"/>
    <ellipse class="body" cx=${px(shoulder[0] - 0.16)} cy=${py(shoulder[1] - 0.01)} rx=${scale * 0.24} ry=${scale * 0.1}/>`;
}

function arrow(p: Pose, px: To, py: To): TemplateResult {
  const foot: [number, number] = [p.axle[0] - p.normal[0] * p.radius, p.axle[1] - p.normal[1] * p.radius];
  const length = p.force / N_PER_M;
  const tip: [number, number] = [foot[0] + p.normal[0] * length, foot[1] + p.normal[1] * length];
  const [x, y] = [px(tip[0]), py(tip[1])];
  return svg`<line class="force" x1=${px(foot[0])} y1=${py(foot[1])} x2=${x} y2=${y}/>
    <path class="force-head" d="M ${x - 6} ${y + 8} L ${x} ${y - 4} L ${x + 6} ${y + 8} Z"/>`;
}
