// The ten steps of the lesson: each asks for a prediction, shows what the model says, and explains.
// Every number comes from the model while the page runs.

import {html, nothing, type TemplateResult} from "lit-html";
import {Bench, Units} from "./bench";
import {SLOTS, type Facts, type Lab, type Traces} from "./lab";
import {sayFault, type Preview} from "./model";
import {along, between, drawn, tell, type Axis, type Line, type Look, type Plot, type Point, type Sizes} from "./plot";
import {FIRST, caseOf, sceneTexts, type Room, type SetUp} from "./setup";
import {slider} from "./slider";
import {extra, lowEnd, roundUp, sayPressure, travelAxis} from "./views";

// What steps ask the model, and how they say its numbers.
export class Course {
  readonly units: Units;
  private readonly texts: ReadonlyMap<string, string>;

  constructor(private readonly lab: Lab, facts: Facts, readonly sizes: Sizes, readonly bar: () => boolean, readonly redraw: () => void) {
    this.units = new Units(facts.units);
    this.texts = sceneTexts(facts.scenes);
  }

  private of(setUp: SetUp, also: Readonly<Record<string, string>>) {
    const made = caseOf(setUp, this.texts);
    return {...made, set: {...made.set, ...also}};
  }

  async rest(setUp: SetUp, also: Readonly<Record<string, string>> = {}): Promise<Bench> {
    return new Bench(await this.lab.look(this.of(setUp, also)), null);
  }

  async ridden(setUp: SetUp): Promise<Bench> {
    const of = this.of(setUp, {});
    const look = await this.lab.look(of);
    const traces: Traces = await this.lab.ride(of, SLOTS.other);
    if (traces.failure) throw new Error(traces.failure);
    return new Bench(look, traces);
  }

  row(setUp: SetUp, key: string, values: readonly number[], metrics: readonly string[]): Promise<Preview> {
    return this.lab.row(this.of(setUp, {}), key, values, metrics);
  }

  pressure(pascal: number | null): string {
    return pascal === null ? "–" : sayPressure(pascal, {units: this.units, bar: this.bar()});
  }
}

export interface Guess {
  readonly label: string;
  readonly low: number;
  readonly high: number;
  readonly step: number;
  readonly start: number;
  readonly unit: string;
}

// `pressure`: what is predicted is a pressure, in the unit that the page shows.
export type Predict<D> =
  | {readonly by: "draw"; readonly at: (d: D) => readonly number[]; readonly pad: (d: D) => Plot; readonly answer: (d: D) => readonly Point[];
      readonly sayX: (x: number) => string; readonly sayY: (y: number) => string; readonly pressure?: boolean}
  | {readonly by: "pick"; readonly options: readonly string[]; readonly right: (d: D) => number}
  | {readonly by: "numbers"; readonly rows: (d: D, course: Course) => readonly Guess[]; readonly answer: (d: D, course: Course) => readonly number[]; readonly share?: boolean; readonly pressure?: boolean};

export interface Spec<D> {
  readonly title: string;
  readonly belief: string; // the misconception, as people say it
  readonly load: (course: Course) => Promise<D>;
  readonly ask: (d: D, course: Course) => TemplateResult;
  readonly predict: Predict<D>;
  readonly observe?: (d: D, course: Course) => TemplateResult; // beside the answer
  readonly prompt: string; // what the sentence is to say
  readonly why: (d: D, course: Course) => TemplateResult;
  readonly teach: string; // for the teacher
  readonly room?: (d: D, course: Course) => Room; // to go on in the room
  readonly anew?: () => void; // what else is put back when it is predicted again
}

// A step whose data is of its own kind, kept inside.
export interface Step extends Omit<Spec<unknown>, "load"> {
  readonly load: (course: Course) => Promise<unknown>;
}

function step<D>(spec: Spec<D>): Step {
  return spec as unknown as Step;
}

function drop(more: Partial<SetUp>, values: Readonly<Record<string, number>> = {}): SetUp {
  return {...FIRST, ...more, values};
}

const psiOf = (course: Course, bench: Bench) => course.units.say(bench.look.curve.pressure ?? NaN, "psi");
const held = (course: Course, bench: Bench, values: Readonly<Record<string, number>> = {}) =>
  drop({sag: null}, {...values, pressure: psiOf(course, bench)});

function even(low: number, high: number, count: number): number[] {
  return Array.from({length: count}, (_, i) => low + (high - low) * i / (count - 1));
}

const mm = (x: number) => `${tell(x, 0)} mm`;
const newton = (y: number) => `${tell(y, 0)} N`;
const end = (points: readonly Point[]) => points[points.length - 1]?.[1] ?? NaN;
const percent = (share: number) => `${tell(share * 100, 0)} %`;

// From below 0 where the spring pulls the fork together.
function forceAxis(...curves: (readonly Point[])[]): Axis {
  const forces = curves.flatMap((points) => points.map((p) => p[1]));
  return {low: lowEnd(Math.min(...forces) * 1.08), high: roundUp(Math.max(...forces) * 1.08), label: "force of the spring [N]"};
}

function extraAxis(points: readonly Point[], label: string): Axis {
  const high = roundUp(Math.max(...points.map((p) => Math.abs(p[1]))) * 1.1);
  return {low: -high, high, label};
}

// What a word and a number say of a change.
function change(from: number, to: number): string {
  const share = (to - from) / from;
  return Math.abs(share) < 0.0005 ? "no change" : `${share < 0 ? "−" : "+"}${tell(Math.abs(share) * 100, 1)} %`;
}

const coilAndAir = step<{air: Bench; coil: Bench; sag: Point; rate: number}>({
  title: "A straight line?",
  belief: "A spring is a spring: twice the squeeze, twice the force.",
  load: async (course) => {
    const air = await course.rest(drop({}));
    const force = along(air.slow, air.sag);
    // A little softer than the chord, so that what preload is solved for is none below zero.
    const rate = Math.floor(force / air.sag * 99) / 100;
    const coil = await course.rest(drop({spring: "coil"}, {rate}));
    return {air, coil, sag: [air.sag, force], rate};
  },
  ask: (d) => html`<p>Two forks carry the same rider at the same sag: ${mm(d.sag[0])} of travel, ${newton(d.sag[1])}. One has a coil
    spring, and its force is drawn. The other has air. Draw the force of the air spring from full extension to the end of the travel.</p>`,
  predict: {
    by: "draw", at: (d) => even(0, d.air.end, 13), sayX: mm, sayY: newton, answer: (d) => d.air.slow,
    pad: (d) => ({
      id: "pad-1", title: "force over travel, coil given", x: travelAxis(d.air), y: forceAxis(d.air.slow, d.coil.slow),
      lines: [{points: d.coil.slow, look: "given", name: "coil"}], spots: [{at: d.sag, look: "b"}], marks: [{x: d.sag[0], text: "sag"}],
    }),
  },
  prompt: "Why does the air spring not stay on a line?",
  why: (d) => {
    const slope = (x: number) => (along(d.air.slow, x + 3) - along(d.air.slow, x - 3)) / 6;
    const {end: full, sag} = d.air;
    const held = (x: number) => d.air.negativeForce(x);
    return html`<p>The coil answers every millimetre with the same ${tell(d.rate, 1)} N. The air answers with ${tell(slope(full * 0.1), 1)} N at ${mm(full * 0.1)}, with
      ${tell(slope(full / 2), 1)} N half-way and with ${tell(slope(full - 4), 1)} N at the end. Deep in, each millimetre takes the same volume from a smaller and smaller rest of the chamber, and pressure follows the
      <em>share</em> that is taken: that is why air grows steeper towards the end. At the start a second, small chamber behind the piston holds against it, with ${newton(held(0))} at full extension. It lets go
      bit by bit, most of it before half the travel: ${newton(held(sag))} are left at sag, ${newton(held(full / 2))} half-way. The seventh step takes it away. At the end the air pushes with ${newton(end(d.air.slow))}, the coil with ${newton(end(d.coil.slow))}.</p>`;
  },
  teach: "Have two or three predictions on the board before the answer. Ask where the two springs agree: at sag, because both were matched there. The coil that is matched at sag ends above the air: progressive says how a force grows, not which one is larger at the end.",
  room: (d) => ({a: drop({}), b: drop({spring: "coil"}, {rate: d.rate})}),
});

const halves = step<{bench: Bench; pv: Point[]; full: number; half: number; quarter: number; unit: string}>({
  title: "Half, and half again",
  belief: "The same cut in volume always adds the same pressure.",
  load: async (course) => {
    const bench = await course.rest(drop({}, {spacers: 5}));
    const unit = course.bar() ? "bar" : "psi";
    const pv = (bench.pv ?? []).map(([v, p]): Point => [v, course.units.say(p, unit)]);
    const full = pv[pv.length - 1]?.[0] ?? NaN;
    return {bench, pv, full, half: full / 2, quarter: Math.max(full / 4, pv[0]?.[0] ?? 0), unit};
  },
  ask: (d) => html`<p>A chamber of ${tell(d.full, 0)} cm³ is pressed together slowly. At half its volume the absolute pressure has gone from
    ${tell(along(d.pv, d.full), 1)} to ${tell(along(d.pv, d.half), 1)} ${d.unit}: drawn. Go on, from the half (${tell(d.half, 0)} cm³) to the quarter
    (${tell(d.quarter, 0)} cm³). Compression runs from right to left.</p>`,
  predict: {
    by: "draw", pressure: true, at: (d) => even(d.quarter, d.half, 8), sayX: (x) => `${tell(x, 0)} cubic centimetres`, sayY: (y) => tell(y, 1), answer: (d) => between(d.pv, d.quarter, d.full),
    pad: (d) => ({
      id: "pad-2", title: "absolute pressure over volume", x: {low: 0, high: roundUp(d.full), label: "volume [cm³]"},
      y: {low: 0, high: roundUp(along(d.pv, d.quarter) * 1.15), label: `absolute pressure [${d.unit}]`},
      lines: [{points: between(d.pv, d.half, d.full), look: "given"}],
      spots: [{at: [d.full, along(d.pv, d.full)], look: "b"}, {at: [d.half, along(d.pv, d.half)], look: "b"}],
    }),
  },
  prompt: "Why does the second half of the cut do more than the first?",
  why: (d) => html`<p>The first halving took ${tell(d.full - d.half, 0)} cm³ and multiplied the pressure by ${tell(along(d.pv, d.half) / along(d.pv, d.full), 2)}.
    The second took only ${tell(d.half - d.quarter, 0)} cm³ and multiplied it by ${tell(along(d.pv, d.quarter) / along(d.pv, d.half), 2)} again, to
    ${tell(along(d.pv, d.quarter), 1)} ${d.unit}. Slowly, at one temperature, absolute pressure times volume stays the same: ratios count, not differences.
    A gauge reads from the pressure of the air outside: its reading goes up by more than the double.</p>`,
  teach: "Whoever adds instead of multiplying draws a straight line on. Ask for the product p·V at three places. Gauge against absolute pressure is the second trap here.",
  room: () => ({a: drop({}, {spacers: 5}), b: null}),
});

const LONGER = 30; // mm

const longer = step<{a: Bench; b: Bench}>({
  title: "The same chamber, a longer stroke",
  belief: "More travel means a softer spring.",
  load: async (course) => {
    const a = await course.rest(drop({}));
    const b = await course.rest(held(course, a), {"fork.travel": `${a.end + LONGER} mm`});
    return {a, b};
  },
  ask: (d) => html`<p>The curve of a fork with ${mm(d.a.end)} of travel is drawn. Another has the same chambers, piston and pressure, but its stroke is
    ${mm(LONGER)} longer. Draw the force of the longer one, to its end at ${mm(d.b.end)}.</p>`,
  predict: {
    by: "draw", at: (d) => even(0, d.b.end, 13), sayX: mm, sayY: newton, answer: (d) => d.b.slow,
    pad: (d) => ({
      id: "pad-3", title: "force over travel, shorter fork given", x: travelAxis(d.b), y: forceAxis(d.a.slow, d.b.slow), lines: [{points: d.a.slow, look: "given", name: mm(d.a.end)}],
    }),
  },
  prompt: "What does the air know of the length of the stroke?",
  why: (d) => html`<p>Nothing: at ${mm(100)} both have the same volume and push with ${newton(along(d.a.slow, 100))} and ${newton(along(d.b.slow, 100))}. The longer stroke only goes on
    into a smaller rest of the chamber: it ends at ${newton(end(d.b.slow))} where the shorter one ends at ${newton(end(d.a.slow))}. Firm or soft at the end is a matter of how
    much of the chamber the stroke takes: here ${percent(taken(d.b))} against ${percent(taken(d.a))}.</p>`,
  teach: "Compression ratio is the idea to leave with: the volume at the start over the volume at the end.",
});

function taken(bench: Bench): number {
  return bench.volumes ? 1 - along(bench.volumes, bench.end) / along(bench.volumes, 0) : NaN;
}

function compared(id: string, a: Bench, b: Bench, names: readonly [string, string], looks: readonly [Look, Look], course: Course): TemplateResult {
  return drawn({
    id, title: "both curves of force over travel", x: travelAxis(a, b), y: forceAxis(a.slow, b.slow),
    lines: [{points: a.slow, look: looks[0], name: names[0]}, {points: b.slow, look: looks[1], name: names[1]}],
  }, course.sizes);
}

const oneSpacer = step<{a: Bench; b: Bench; more: Point[]}>({
  title: "One spacer, the same pressure",
  belief: "A spacer makes the fork stiff from the very start; or: it works at the end alone.",
  load: async (course) => {
    const a = await course.rest(drop({}, {spacers: 0}));
    const b = await course.rest(held(course, a, {spacers: 1}));
    return {a, b, more: extra(a, b)};
  },
  ask: (d, course) => html`<p>A fork has no spacer and ${course.pressure(d.a.look.curve.pressure)}. It gets one volume spacer and is pumped to the <em>same</em> pressure.
    Draw how many newtons it pushes more, or less, over the travel.</p>`,
  predict: {
    by: "draw", at: (d) => even(0, d.a.end, 13), sayX: mm, sayY: newton, answer: (d) => d.more,
    pad: (d) => ({
      id: "pad-4", title: "extra force over travel", x: travelAxis(d.a), y: extraAxis(d.more, "extra force with the spacer [N]"),
      lines: [], level: "no change",
    }),
  },
  observe: (d, course) => compared("see-4", d.a, d.b, ["0 spacers", "1 spacer"], [{shade: 0}, {shade: 1}], course),
  prompt: "Why does it grow as it does?",
  why: (d) => html`<p>At full extension the pressure is the same, and the force differs by ${newton(d.more[0]?.[1] ?? NaN)}. From there each millimetre takes a larger share of the smaller chamber:
    ${newton(along(d.more, d.a.end / 2))} more half-way, ${newton(end(d.more))} more at the end (${change(end(d.a.slow), end(d.b.slow))}). So the rider also sits higher: sag goes from
    ${mm(d.a.sag)} to ${mm(d.b.sag)}. It is neither a step at the start nor one at the end, but a gain that grows all the way.</p>`,
  teach: "The plot shows a difference, with its sign: let the class say first where it must be nothing, and why.",
  room: (d, course) => {
    const pressure = Math.round(psiOf(course, d.a) * 10) / 10;
    return {a: drop({sag: null}, {spacers: 0, pressure}), b: drop({sag: null}, {spacers: 1, pressure})};
  },
});

const sameSag = step<{a: Bench; b: Bench; more: Point[]}>({
  title: "Four spacers, the same sag",
  belief: "Spacers make a fork harsher everywhere.",
  load: async (course) => {
    const a = await course.rest(drop({}, {spacers: 0}));
    const b = await course.rest(drop({}, {spacers: 4}));
    return {a, b, more: extra(a, b)};
  },
  ask: (d) => html`<p>Now the workshop's way: from none to four spacers, and the pressure is set again until the rider sags as before, ${mm(d.a.sag)}.
    Draw how many newtons the fork with four pushes more, or less, over the travel.</p>`,
  predict: {
    by: "draw", at: (d) => even(0, d.a.end, 13), sayX: mm, sayY: newton, answer: (d) => d.more,
    pad: (d) => ({
      id: "pad-5", title: "extra force over travel at the same sag", x: travelAxis(d.a), y: extraAxis(d.more, "extra force with four spacers [N]"),
      lines: [], level: "no change", marks: [{x: d.a.sag, text: "sag"}],
    }),
  },
  observe: (d, course) => {
    // The part before sag is small beside the end: it has a plot of its own.
    const start = between(d.more, 0, d.a.sag * 1.15);
    return html`${compared("see-5", d.a, d.b, ["0 spacers", "4 spacers"], [{shade: 0}, {shade: 1}], course)}
      <h3>The first part, drawn larger</h3>${drawn({
        id: "see-5-start", title: "extra force at the start of the travel", aspect: 0.5, x: {low: 0, high: d.a.sag * 1.15, label: "travel [mm]"},
        y: extraAxis(start, "extra force with four spacers [N]"), lines: [{points: start, look: "a"}], level: "",
        areas: [{points: start, look: "a"}], marks: [{x: d.a.sag, text: "sag"}],
      }, course.sizes)}`;
  },
  prompt: "Why must the two curves cross at sag?",
  why: (d, course) => html`<p>At sag both carry the same rider: ${newton(along(d.more, d.a.sag))} of difference. To get there the smaller chamber needs less air,
    ${course.pressure(d.b.look.curve.pressure)} in place of ${course.pressure(d.a.look.curve.pressure)}. So from the first millimetres to sag it pushes a little less, up to
    ${tell(-least(d.more), 1)} N, the first movement asks for ${tell(d.b.look.curve.breakaway, 1)} N in place of ${tell(d.a.look.curve.breakaway, 1)} N, and past sag it pushes more and more:
    ${newton(along(d.more, d.a.end / 2))} half-way, ${newton(end(d.more))} at the end. Softer at the start, firmer at the end.</p>`,
  teach: "Zoom in on the part before sag: it is small, and it is the part that most expect to have the other sign.",
  room: () => ({a: drop({}, {spacers: 0}), b: drop({}, {spacers: 4})}),
});

function least(points: readonly Point[]): number {
  return Math.min(...points.map((p) => p[1]));
}

interface Loop {
  readonly bench: Bench;
  readonly loop: readonly Point[]; // cm3, bar or psi, of the landing
  readonly above: number; // mm at which the way down rises above the slow curve
  readonly lost: number; // J
  readonly colder: number; // K by which the air is colder at the end of the loop
}

// What a channel of the main chamber is over its volume in cm3: down and as far back as the fork
// comes, from the travel at which the way back ends, so that the loop is closed.
function landingLoop(bench: Bench, channel: string): Point[] {
  const deepest = bench.deepest();
  const until = backOut({bench, deepest});
  const travel = bench.traces?.channels["travel"];
  const values = bench.traces?.channels[channel];
  if (!travel || !values || !bench.volumes) return [];
  const last = travel[until] ?? NaN;
  const way: Point[] = [];
  for (let i = bench.strokeStart(deepest); i <= until; ++i) way.push([travel[i] ?? NaN, values[i] ?? NaN]);
  const begins = way.findIndex((p) => p[0] > last);
  const closed: Point[] = [[last, along(way.slice(Math.max(0, begins - 1), begins + 1), last)], ...way.slice(begins)];
  return closed.map(([x, value]) => [along(bench.volumes ?? [], x * 1e3), value]);
}

const slowFast = step<Loop>({
  title: "Slowly and fast",
  belief: "The air spring has one curve; only the damper minds how fast it goes.",
  load: async (course) => {
    const bench = await course.ridden(drop({}));
    const unit = course.bar() ? "bar" : "psi";
    const way = landingLoop(bench, "main_pressure");
    const warmth = landingLoop(bench, "main_temperature");
    let lost = 0;
    for (let i = 1; i < way.length; ++i) {
      const [v, p] = way[i] as Point;
      const [before, was] = way[i - 1] as Point;
      lost -= (v - before) * 1e-6 * (p + was) / 2;
    }
    const rises = way.findIndex(([v, p]) => p > along(bench.pv ?? [], v));
    const falling = (bench.volumes ?? []).map(([x, v]): Point => [v, x]).reverse();
    return {bench, loop: way.map(([v, p]) => [v, course.units.say(p, unit)]), above: along(falling, way[rises]?.[0] ?? NaN), lost, colder: (warmth[0]?.[1] ?? NaN) - end(warmth)};
  },
  ask: (d) => html`<p>Pushed in slowly, the air spring follows the curve that is drawn. Now the fork, at rest at its sag of ${mm(d.bench.sag)}, is pushed in so fast that
    the air has no time to give heat to the walls. Draw the force from sag to the end.</p>`,
  predict: {
    by: "draw", at: (d) => even(d.bench.sag, d.bench.end, 11), sayX: mm, sayY: newton, answer: (d) => between(d.bench.fast, d.bench.sag, d.bench.end),
    pad: (d) => ({
      id: "pad-6", title: "force over travel, slow curve given", x: travelAxis(d.bench), y: forceAxis(d.bench.slow, between(d.bench.fast, d.bench.sag, d.bench.end)),
      lines: [{points: d.bench.slow, look: "given", name: "slowly"}], marks: [{x: d.bench.sag, text: "sag"}],
    }),
  },
  observe: (d, course) => {
    const unit = course.bar() ? "bar" : "psi";
    const slow = (d.bench.pv ?? []).map(([v, p]): Point => [v, course.units.say(p, unit)]);
    return html`<h3>The landing of the quarry drop, in the plane of pressure and volume</h3>${drawn({
      id: "see-6", title: "pressure over volume in the landing", x: {low: 0, high: roundUp(slow[slow.length - 1]?.[0] ?? 1), label: "volume of the main chamber [cm³]"},
      y: {low: 0, high: roundUp(Math.max(...d.loop.map((p) => p[1]), slow[0]?.[1] ?? 0)), label: `absolute pressure [${unit}]`},
      areas: [{points: d.loop, look: "loop", encloses: true}],
      lines: [{points: slow, look: "given", name: "slowly"}, {points: d.loop, look: "loop", name: "landing"}],
    }, course.sizes)}`;
  },
  prompt: "Where does the extra force come from, and what does the loop enclose?",
  why: (d) => html`<p>Work done on the gas warms it, and warm gas presses harder: ${newton(end(d.bench.fast))} at the end in place of ${newton(end(d.bench.slow))}. Slowly the heat goes into the walls while it arises.
    As the landing begins the model's air is a little cold, for the fork has just shot out. From ${mm(d.above)} of travel on it goes up above the slow curve, gives heat to the walls, and comes back lower than it went up.
    The loop encloses what the air in the main chamber did not give back: ${tell(d.lost, 1)} J of this stroke went into the walls as heat, and more besides, for the air ends ${tell(d.colder, 0)} °C colder than it was there on the way in.</p>`,
  teach: "Isothermal and adiabatic come out of one equation with a time in it; neither is put in. A pump that gets warm is the experiment at hand.",
  room: () => ({a: drop({}), b: null}),
});

const negative = step<{a: Bench; b: Bench}>({
  title: "Without the negative chamber",
  belief: "Air pushes only outwards, so a fork must stand hard at the start.",
  load: async (course) => {
    const a = await course.rest(drop({}));
    const b = await course.rest(drop({negative: "none"}));
    return {a, b};
  },
  ask: (d) => html`<p>Behind the piston a second, small chamber pushes the other way. The curve with it is drawn. It is taken away, and the pressure of the main chamber
    is set again until the sag is the same ${mm(d.a.sag)}. Draw the force without the negative chamber.</p>`,
  predict: {
    by: "draw", at: (d) => even(0, d.a.end, 13), sayX: mm, sayY: newton, answer: (d) => d.b.slow,
    pad: (d) => ({
      id: "pad-7", title: "force over travel, with the negative chamber given", x: travelAxis(d.a), y: forceAxis(d.a.slow, d.b.slow),
      lines: [{points: d.a.slow, look: "given", name: "with it"}], marks: [{x: d.a.sag, text: "sag"}],
    }),
  },
  prompt: "What does the second chamber do to the first millimetres?",
  why: (d, course) => html`<p>Alone, the main chamber pushes with its whole pressure from the first millimetre: ${newton(d.b.slow[0]?.[1] ?? NaN)} before the fork moves at all, against
    ${newton(d.a.slow[0]?.[1] ?? NaN)} with the negative chamber, which ${(d.a.slow[0]?.[1] ?? 0) < 0 ? "there even pulls the fork together" : "holds against it"} and lets go bit by bit: ${tell(against(d.a, d.a.sag), 0)} % of what it held at full extension is left at sag, ${tell(against(d.a, d.a.end / 2), 0)} % half-way. Friction comes on top: the first movement asks for ${newton(d.b.look.curve.breakaway)} in place of
    ${newton(d.a.look.curve.breakaway)}. The same sag then needs only ${course.pressure(d.b.look.curve.pressure)} in place of ${course.pressure(d.a.look.curve.pressure)}, and at the end
    it pushes with ${newton(end(d.b.slow))} in place of ${newton(end(d.a.slow))}.</p>`,
  teach: "A negative chamber does not add force, it takes force away, most of it before half the travel, and still some at sag. Ask what a stuck transfer port would feel like.",
  room: () => ({a: drop({}), b: drop({negative: "none"})}),
});

// What the negative chamber still holds, in % of what it holds at full extension.
function against(bench: Bench, travel: number): number {
  return bench.negativeForce(travel) / bench.negativeForce(0) * 100;
}

interface Row {
  readonly name: string;
  readonly label: string;
  readonly unit: string;
  readonly decimals: number;
  readonly values: readonly number[];
}

const COUNTS = [0, 1, 2, 3, 4] as const;
const OF_THE_DROP = [
  {name: "travel_max", label: "travel used", unit: "mm", decimals: 1},
  {name: "fork_force_max", label: "fork force, peak", unit: "N", decimals: 0},
  {name: "metal_speed_max", label: "metal meets metal at", unit: "m/s", decimals: 2},
] as const;

const theDrop = step<{rows: readonly Row[]; contacts: readonly number[]; end: number; height: number}>({
  title: "The drop, with 0 to 4 spacers",
  belief: "What spacers change is how much travel is used.",
  load: async (course) => {
    const setUp = drop({});
    const preview = await course.row(setUp, "fork.spacers", [...COUNTS], [...OF_THE_DROP.map((row) => row.name), "metal_contacts"]);
    const bench = await course.rest(setUp);
    const wrong = preview.rows.find((row) => row.failure || row.faults.length > 0);
    if (wrong) throw new Error(`${wrong.label}: ${wrong.failure || wrong.faults.map(sayFault).join("; ")}`);
    const values = (name: string) => preview.rows.map((row) => row.metrics[name] ?? 0);
    return {
      rows: OF_THE_DROP.map((row) => ({...row, values: values(row.name).map((v) => course.units.say(v, row.unit))})),
      contacts: values("metal_contacts"), end: bench.end, height: bench.firstSetting(/^terrain\[\d+\]\.height$/) ?? NaN,
    };
  },
  ask: (d) => html`<p>A drop of ${tell(d.height, 1)} m onto a slope, at one sag, with ${COUNTS.slice(0, -1).join(", ")} and ${COUNTS[COUNTS.length - 1]} spacers; without a spacer the ride uses ${tell(d.rows[0]?.values[0] ?? NaN, 1)} of
    ${mm(d.end)}${(d.rows[0]?.values[0] ?? 0) > d.end ? " (metal and frame give a little where the fork ends on them)" : ""} and the fork pushes with up to ${newton(d.rows[1]?.values[0] ?? NaN)}. From none to four, which of these changes by the largest share?</p>`,
  predict: {
    by: "pick", options: ["the travel that is used", "the peak force of the fork", "the speed at which metal meets metal at the end of the travel"],
    right: (d) => d.rows.map((row) => shareOf(row)).reduce((best, share, i, all) => share > (all[best] ?? 0) ? i : best, 0),
  },
  observe: (d, course) => html`${drawn({
    id: "see-8", title: "what changes with the number of spacers", x: {low: 0, high: 4, label: "volume spacers"}, y: {low: 0, high: roundUp(Math.max(...d.rows.flatMap((row) => row.values.map((v) => v / (row.values[0] || Infinity) * 100))) * 1.05), label: "share of that without [%]"},
    lines: d.rows.map((row, i): Line => ({points: row.values.map((v, n) => [n, row.values[0] ? v / (row.values[0] ?? 1) * 100 : 0]), look: ([{shade: 0.25}, {shade: 1}, "b"] as const)[i] ?? "ink", name: row.label})),
  }, course.sizes)}
    <div class="scroll" tabindex="0" role="region" aria-label="table of the drop"><table><thead><tr><th scope="col">spacers</th>${COUNTS.map((n) => html`<th scope="col">${n}</th>`)}<th scope="col">0 to 4</th></tr></thead>
      <tbody>${d.rows.map((row) => html`<tr><th scope="row">${row.label}, ${row.unit}</th>${row.values.map((v) => html`<td>${tell(v, row.decimals)}</td>`)}<td>${row.values[0] ? change(row.values[0], row.values[4] ?? NaN) : nothing}</td></tr>`)}
      <tr><th scope="row">metal contacts</th>${d.contacts.map((v) => html`<td>${tell(v, 0)}</td>`)}<td></td></tr></tbody></table></div>`,
  prompt: "Why does the travel hardly move, although the end is so much firmer?",
  why: (d) => {
    const [travel, force, speed] = d.rows;
    return html`<p>In this model the travel used changes from ${tell(travel?.values[0] ?? NaN, 1)} to ${tell(travel?.values[4] ?? NaN, 1)} mm (${change(travel?.values[0] ?? NaN, travel?.values[4] ?? NaN)}): near the end the spring is so
      steep that a lot of work fits into a few millimetres. The peak force of the fork changes by ${change(force?.values[0] ?? NaN, force?.values[4] ?? NaN)}, and metal meets metal at
      ${tell(speed?.values[0] ?? NaN, 2)} m/s without a spacer and ${speed?.values[4] ? `at ${tell(speed.values[4], 2)} m/s` : "not at all"} with four. A ring on the leg, which shows travel alone, would hardly tell these rides apart.</p>`;
  },
  teach: "The ring on the leg is what a workshop reads. The step shows what it can't tell: how hard the end was met. The figures are those of the model on this page.",
  room: () => ({a: drop({}, {spacers: 0}), b: drop({}, {spacers: 4})}),
});

function shareOf(row: Row): number {
  const [first] = row.values;
  return first ? Math.abs((row.values[4] ?? 0) - first) / first : 0;
}

interface Shares {
  readonly bench: Bench;
  readonly deepest: number;
  readonly shares: readonly [number, number, number];
}

const energyStep = step<Shares>({
  title: "Where the energy goes",
  belief: "The spring soaks up the landing; the damper only slows the way back.",
  load: async (course) => {
    const bench = await course.ridden(drop({}));
    const deepest = bench.deepest();
    const e = bench.energies(deepest);
    return {bench, deepest, shares: [e.spring / e.into * 100, e.lost / e.into * 100, e.floor / e.into * 100]};
  },
  ask: (d) => html`<p>The quarry drop again. From where the landing begins to press the fork in, until it is deepest at ${mm(d.bench.at({by: "ride", time: d.bench.time(d.deepest)}).travel)}, rider and bike do
    ${tell(d.bench.energies(d.deepest).into, 0)} J of work on the fork. Where is it at that instant? Give shares; they are taken as parts of their sum.</p>`,
  predict: {
    by: "numbers", share: true, answer: (d) => d.shares,
    rows: () => ["in the air spring", "turned to heat by damper and friction", "in the floor: bumper and metal"].map((label) => ({label, low: 0, high: 100, step: 1, start: 0, unit: "%"})),
  },
  observe: (d, course) => {
    const from = d.bench.strokeStart(d.deepest);
    const until = backOut(d);
    const of = (read: (i: number) => number): Point[] => even(from, until, 160).map((i) => [d.bench.time(Math.round(i)) - d.bench.time(from), read(Math.round(i))]);
    const lines: (Line & {points: Point[]})[] = [
      {points: of((i) => d.bench.energies(i).into), look: "ink", name: "from rider and bike"},
      {points: of((i) => d.bench.energies(i).spring), look: {shade: 0.5}, name: "in the spring"},
      {points: of((i) => d.bench.energies(i).lost), look: "lost", name: "damper and friction"},
      {points: of((i) => d.bench.energies(i).floor), look: "given", name: "floor"},
    ];
    const joules = lines.flatMap((l) => l.points.map((p) => p[1]));
    const high = Math.max(...joules);
    const low = Math.min(0, ...joules);
    return drawn({
      id: "see-9", title: "energy of the stroke over time", x: {low: 0, high: d.bench.time(until) - d.bench.time(from), label: "since the stroke began [s]"},
      y: {low: low < 0 ? -roundUp(-low) : 0, high: roundUp(high), label: "energy [J]"}, lines, marks: [{x: d.bench.time(d.deepest) - d.bench.time(from), text: "deepest"}],
    }, course.sizes);
  },
  prompt: "What happens to each part after the deepest instant?",
  why: (d) => {
    const e = d.bench.energies(d.deepest);
    const until = backOut(d);
    const later = d.bench.energies(until);
    const turns = d.bench.at({by: "ride", time: d.bench.time(until)}).travel;
    return html`<p>Of ${tell(e.into, 0)} J the spring holds ${tell(e.spring, 0)} J, damper and friction have already turned ${tell(e.lost, 0)} J to heat on the way in, and the floor holds ${tell(e.floor, 0)} J.
      When the fork turns again, at ${mm(turns)}, ${tell(later.spring, 0)} J of the work on the air have not come back: part is air still pressed in, the rest went into the walls as heat (step 6). What damper and friction have taken has grown to ${tell(later.lost, 0)} J: none of that comes back.
      Rider and bike got the difference. If the spring alone had to do the work it would go deeper or need to be firmer.</p>`;
  },
  teach: "What rider and bike put in is added up from its parts here, so that this sum closes by itself. What the model is held to is its book of all energy of the whole ride: the room says under its bars how nearly that closes. The floor takes what is left when the travel is used up.",
  room: () => ({a: drop({}), b: null}),
});

// Where the fork is out again as far as it was when the stroke began, or turns before.
function backOut({bench, deepest}: Pick<Shares, "bench" | "deepest">): number {
  const from = bench.strokeStart(deepest);
  const travel = bench.traces?.channels["travel"] ?? new Float64Array();
  let i = deepest;
  while (i + 1 < travel.length && bench.strokeStart(i + 1) === from && (travel[i + 1] ?? 0) > (travel[from] ?? 0)) ++i;
  return i;
}

interface Transfer {
  readonly known: Bench;
  readonly asked: Bench;
  readonly bench: Bench;
  readonly setUp: SetUp;
}

const HEAVIER = 98; // kg

// The bench of the last step is worked on while it is shown.
let tried: {setUp: SetUp; bench: Bench | null; busy: boolean; wrong: string} | null = null;

function tryOut(course: Course, setUp: SetUp, done: boolean): void {
  tried = {setUp, bench: tried?.bench ?? null, busy: done, wrong: ""};
  const mine = tried;
  course.redraw();
  if (!done) return;
  course.ridden(setUp).then((bench) => {
    if (tried !== mine) return;
    tried = {setUp, bench, busy: false, wrong: ""};
    course.redraw();
  }, (error: Error) => {
    if (tried !== mine) return;
    tried = {...mine, busy: false, wrong: error.message};
    course.redraw();
  });
}

const transfer = step<Transfer>({
  title: "Another rider",
  belief: "A heavier rider needs more pressure, and that is all.",
  load: async (course) => {
    const known = await course.rest(drop({}, {spacers: 1}));
    const setUp = drop({}, {spacers: 1, rider: HEAVIER});
    const asked = await course.ridden(setUp);
    return {known, asked, bench: asked, setUp};
  },
  ask: (d, course) => html`<p>A rider of ${tell(d.known.setting("rider.mass") ?? NaN, 0)} kg rides this fork with one spacer and ${course.pressure(d.known.look.curve.pressure)}, at ${tell(d.known.sag / d.known.end * 100, 0)} % sag. Now comes a rider of ${HEAVIER} kg.
    Which pressure gives the same sag, with the same spacer?</p>`,
  predict: {
    by: "numbers", pressure: true, answer: (d, course) => [course.units.say(d.asked.look.curve.pressure ?? NaN, course.bar() ? "bar" : "psi")],
    rows: (_, course) => [course.bar() ? {label: "pressure", low: 2.5, high: 10, step: 0.1, start: 2.5, unit: "bar"}
      : {label: "pressure", low: 40, high: 140, step: 1, start: 40, unit: "psi"}],
  },
  observe: (d, course) => {
    const setUp = tried?.setUp ?? d.setUp;
    const bench = tried?.bench ?? d.bench;
    const to = (key: string) => (value: number, done: boolean) => tryOut(course, {...setUp, values: {...setUp.values, [key]: value}}, done);
    const use = bench.number("travel_use") ?? NaN;
    const metal = bench.number("metal_contacts") ?? NaN;
    const share = bench.sag / bench.end;
    const most = (name: string) => bench.look.settled.settings.find((row) => row.name === name)?.high ?? 0;
    const wants = [
      {ok: share >= 0.2 && share <= 0.25, say: `sag between 20 and 25 %: ${tell(share * 100, 1)} %`},
      {ok: use >= 0.9, say: `at least 90 % of the travel used on the drop: ${tell(use * 100, 1)} %`},
      {ok: metal === 0, say: `metal never meets metal: ${tell(metal, 0)} contacts`},
    ];
    return html`<h3>Set the fork up for the rider of ${HEAVIER} kg</h3>
      <div class="knobs">
        ${slider({id: "t-sag", label: "sag", low: 15, high: 30, step: 0.5, value: setUp.sag ?? share * 100, say: (v) => `${tell(v, 1)} %`, to: (v, done) => tryOut(course, {...setUp, sag: v}, done)})}
        ${slider({id: "t-spacers", label: "volume spacers", low: 0, high: most("fork.spacers"), step: 1, value: setUp.values["spacers"] ?? bench.setting("fork.spacers") ?? 0, say: (v) => tell(v, 0), to: to("spacers")})}
        ${slider({id: "t-compression", label: "compression, clicks from closed", low: 0, high: most("fork.compression.clicks"), step: 1, value: setUp.values["compression"] ?? bench.setting("fork.compression.clicks") ?? 0, say: (v) => tell(v, 0), to: to("compression")})}
      </div>
      <ul aria-live="polite">${wants.map((want) => html`<li>${want.ok ? "met" : "not met"}: ${want.say}</li>`)}</ul>
      <p class="busy">${tried?.busy ? "riding…" : tried?.wrong ? tried.wrong : html`pressure ${course.pressure(bench.look.curve.pressure)}, fork force up to ${newton(bench.number("fork_force_max") ?? NaN)}`}</p>`;
  },
  prompt: "Which set-up did you choose, and why these spacers?",
  why: (d, course) => {
    const from = d.known.look.curve.pressure ?? NaN;
    const to = d.asked.look.curve.pressure ?? NaN;
    const mass = d.known.setting("rider.mass") ?? NaN;
    const load = (bench: Bench) => along(bench.slow, bench.sag);
    const inside = (bench: Bench) => along(bench.pressures ?? [], bench.sag);
    return html`<p>The rider is heavier by ${tell((HEAVIER / mass - 1) * 100, 1)} %; the same sag asks for ${course.pressure(to)} in place of ${course.pressure(from)} (${change(from, to)}).
      The load on the spring grows by less than the rider, ${change(load(d.known), load(d.asked))}, for the bike's part stays. The absolute pressure nearly follows the load, ${change(inside(d.known), inside(d.asked))}; it is a little less
      because it also holds against the air outside, which stays as it is. The gauge leaves that air out, and so its reading grows by more. The pressure sets the sag, and with it the whole curve. It does not set the end alone: with the same spacer this rider used
      ${tell((d.asked.number("travel_use") ?? NaN) * 100, 1)} % of the travel on the drop, with ${tell(d.asked.number("metal_contacts") ?? NaN, 0)} metal contacts. The spacers are what is left to set the end, and the clicks take their share of the work.</p>`;
  },
  teach: "There is more than one answer. What counts is a reason that uses at least two of the steps before: sag is set with pressure, the end with spacers, and the damper takes its part.",
  room: (d) => ({a: tried?.setUp ?? d.setUp, b: null}),
  anew: () => { tried = null; },
});

export const STEPS: readonly Step[] = [
  coilAndAir, halves, longer, oneSpacer, sameSag, slowFast, negative, theDrop, energyStep, transfer,
];

