// What the views draw of one set-up: its curves and its ride in the units that people read, and
// where the energy of a stroke goes.

import type {Look, Traces} from "./lab";
import type {Unit} from "./model";
import {along, under, type Columns, type Point} from "./plot";
import type {Strokes} from "./strokes";
import {deepestOf} from "./thin";

// SI to what people say and back, by the model's own units.
export class Units {
  private readonly rows: ReadonlyMap<string, Unit>;

  constructor(units: readonly Unit[]) {
    this.rows = new Map(units.map((row) => [row.name, row]));
  }

  say(value: number, unit: string): number {
    const row = this.rows.get(unit);
    return row ? (value - row.offset) * row.denominator / row.numerator : value;
  }

  si(value: number, unit: string): number {
    const row = this.rows.get(unit);
    return row ? value * row.numerator / row.denominator + row.offset : value;
  }
}

// Where the views are: at an instant of the ride, or held by hand at a travel.
export type Where =
  | {readonly by: "ride"; readonly time: number}
  | {readonly by: "hand"; readonly travel: number}; // mm

// Of one instant of a stroke, J.
export type Energies = Readonly<Record<Exclude<keyof Strokes, "begun">, number>>;

// What the views show at one place.
export interface Instant {
  readonly travel: number; // mm
  readonly force: number; // of the spring, N
  readonly main: number | null; // absolute pressure, Pa
  readonly negative: number | null;
  readonly volume: number | null; // of the main chamber, cm3
  readonly energies: Energies;
}

export class Bench {
  readonly slow: Point[]; // mm, N
  readonly fast: Point[];
  readonly end: number; // full travel, mm
  readonly volumes: Point[] | null; // mm, cm3
  readonly pressures: Point[] | null; // mm, Pa absolute, slow
  readonly negativeVolumes: Point[] | null;
  readonly negativePressures: Point[] | null;
  readonly pv: Point[] | null; // cm3, Pa absolute; volume rises
  readonly travelled: Columns | null; // s, mm
  readonly gone: Point[]; // s, m of way
  readonly times: Point[]; // and back
  readonly pressed: Point[]; // mm, N: the ride in the plane of force and travel
  readonly looped: Point[]; // cm3, Pa: the ride in the plane of pressure and volume
  readonly energyEnds: readonly [number, number]; // least and most of any part in any stroke, J

  constructor(readonly look: Look, readonly traces: Traces | null) {
    const {curve} = look;
    const mm = Array.from(curve.x, (x) => x * 1e3);
    this.end = curve.travel * 1e3;
    this.slow = mm.map((x, i) => [x, curve.slow[i] ?? NaN]);
    this.fast = mm.map((x, i) => [x, curve.fast[i] ?? NaN]);
    const {main, negative} = curve;
    this.volumes = main && mm.map((x, i) => [x, (main.volume[i] ?? NaN) * 1e6]);
    this.pressures = main && mm.map((x, i) => [x, main.pressure[i] ?? NaN]);
    this.negativeVolumes = negative && mm.map((x, i) => [x, (negative.volume[i] ?? NaN) * 1e6]);
    this.negativePressures = negative && mm.map((x, i) => [x, negative.pressure[i] ?? NaN]);
    this.pv = main && mm.map((_, i): Point => [(main.volume[i] ?? NaN) * 1e6, main.pressure[i] ?? NaN]).reverse();
    this.travelled = traces && travelled(traces.time, traces.channels["travel"]);
    this.gone = [];
    this.times = [];
    this.pressed = [];
    this.looped = [];
    if (traces) this.read(traces);
    this.energyEnds = endsOf(traces?.strokes ?? null);
  }

  private channel(name: string): Float64Array | null {
    return this.traces?.channels[name] ?? null;
  }

  private read(traces: Traces): void {
    const travel = this.channel("travel");
    if (!travel) return;
    const air = this.channel("air_force");
    const coil = this.channel("coil_force");
    const pressure = this.channel("main_pressure");
    const distance = this.channel("distance");
    for (let i = 0; i < travel.length; ++i) {
      const x = (travel[i] ?? 0) * 1e3;
      const time = traces.time[i] ?? 0;
      if (distance) {
        this.gone.push([time, distance[i] ?? NaN]);
        this.times.push([distance[i] ?? NaN, time]);
      }
      if (air || coil) this.pressed.push([x, (air?.[i] ?? 0) + (coil?.[i] ?? 0)]);
      if (pressure && this.volumes) this.looped.push([along(this.volumes, x), pressure[i] ?? NaN]);
    }
  }

  // Whether its ride is a preview.
  get rough(): boolean {
    return this.traces?.ground === null;
  }

  get duration(): number {
    const time = this.traces?.time;
    return time && time.length > 0 ? time[time.length - 1] ?? 0 : 0;
  }

  get sag(): number {
    return this.look.curve.sag * 1e3;
  }

  // The last sample that is not after `time`.
  index(time: number): number {
    const times = this.traces?.time;
    if (!times || times.length === 0) return -1;
    let low = 0;
    let high = times.length;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if ((times[middle] ?? Infinity) <= time + 1e-9) low = middle;
      else high = middle;
    }
    return low;
  }

  deepest(): number {
    const travel = this.channel("travel");
    return travel ? deepestOf(travel) : -1;
  }

  time(index: number): number {
    return this.traces?.time[index] ?? 0;
  }

  // Energies of the stroke that the sample is in, since the stroke began.
  energies(index: number): Energies {
    const strokes = this.traces?.strokes;
    return {
      into: strokes?.into[index] ?? NaN, spring: strokes?.spring[index] ?? NaN, lost: strokes?.lost[index] ?? NaN,
      floor: strokes?.floor[index] ?? NaN,
    };
  }

  strokeStart(index: number): number {
    return Math.max(0, this.index(this.traces?.strokes?.begun[index] ?? 0));
  }

  // Work of the slow spring from full extension, J.
  work(travel: number): number {
    return under(this.slow, 0, travel) * 1e-3;
  }

  // The travel to which the slow spring takes that work.
  travelOfWork(joule: number): number {
    let low = 0;
    let high = this.end;
    for (let i = 0; i < 40; ++i) {
      const middle = (low + high) / 2;
      if (this.work(middle) < joule) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  }

  at(where: Where): Instant {
    if (where.by === "ride" && this.traces) {
      const i = this.index(where.time);
      const travel = (this.channel("travel")?.[i] ?? NaN) * 1e3;
      const air = this.channel("air_force");
      const coil = this.channel("coil_force");
      const place = Math.min(Math.max(travel, 0), this.end);
      return {
        travel,
        force: air || coil ? (air?.[i] ?? 0) + (coil?.[i] ?? 0) : along(this.slow, place),
        main: this.pressures && (this.channel("main_pressure")?.[i] ?? along(this.pressures, place)),
        negative: this.negativePressures && (this.channel("negative_pressure")?.[i] ?? along(this.negativePressures, place)),
        volume: this.volumes && along(this.volumes, place),
        energies: this.energies(i),
      };
    }
    const travel = where.by === "hand" ? where.travel : this.sag;
    const work = this.work(travel);
    return {
      travel, force: along(this.slow, travel),
      main: this.pressures && along(this.pressures, travel),
      negative: this.negativePressures && along(this.negativePressures, travel),
      volume: this.volumes && along(this.volumes, travel),
      energies: {into: work, spring: work, lost: 0, floor: 0},
    };
  }

  // With what the negative chamber holds against the main one on the slow curve, N; without one 0.
  negativeForce(travel: number): number {
    const main = this.setting("fork.air.main_area");
    const negative = this.setting("fork.air.negative_area");
    if (!this.negativePressures || !this.pressures || main === null || negative === null) return 0;
    // Of force and both pressures at one place the pressure of the air outside follows.
    const outside = (along(this.pressures, this.sag) * main - along(this.negativePressures, this.sag) * negative - along(this.slow, this.sag)) / (main - negative);
    return (along(this.negativePressures, travel) - outside) * negative;
  }

  number(name: string): number | null {
    return this.traces?.metrics[name] ?? this.look.curve.metrics[name] ?? null;
  }

  firstSetting(named: RegExp): number | null {
    return this.look.settled.settings.find((row) => named.test(row.name))?.value ?? null;
  }

  setting(name: string): number | null {
    return this.look.settled.settings.find((row) => row.name === name)?.value ?? null;
  }
}

// Travel in mm over time.
export function travelled(time: Float64Array, travel: Float64Array | undefined): Columns | null {
  return travel && travel.length > 1 ? {x: time, y: travel.map((x) => x * 1e3)} : null;
}

function endsOf(strokes: Strokes | null): readonly [number, number] {
  let least = 0;
  let most = 0;
  for (const part of strokes ? [strokes.into, strokes.spring, strokes.lost, strokes.floor] : []) {
    for (const joule of part) {
      least = Math.min(least, joule);
      most = Math.max(most, joule);
    }
  }
  return [least, most];
}
