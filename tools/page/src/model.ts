// The model of plunge, a WebAssembly module built from the same sources as the program
// (tools/page/model/), as the page and its worker call it.
//
// Every number is in SI units; what people read is in the unit that a label says (`said`, `units()`).
// The model holds scenes in slots, numbered by whoever calls. What is wrong with an input comes back
// as faults with file, line and column, worded as the program words them. Where a question can't be
// answered, the method throws a ModelError.
//
// A model works on the thread that calls it and answers when it is done: a page asks from a worker.

export interface Fault {
  readonly file: string; // of the scene or of a file that it names; "--set", "--hold": an override
  readonly line: number; // 1-based; 0: the whole file, or no file
  readonly column: number; // 1-based
  readonly key: string; // "fork.spacers"
  readonly value: string; // as written; may be empty
  readonly rule: string; // what must hold
}

export type Faults = readonly Fault[];

// A question that has no answer: with the faults of the input where these are why.
export class ModelError extends Error {
  constructor(
    message: string,
    readonly faults: Faults = [],
  ) {
    super(message);
    this.name = "ModelError";
  }
}

// A file that the module brings along, as scenes name it from their own folder.
export interface ShippedFile {
  readonly path: string; // "forks/teasel-150.toml"
  readonly text: string;
}

export interface ShippedScene {
  readonly path: string; // "scenes/drop-to-landing.toml"
  readonly name: string; // "Kestrel Hollow, the quarry drop"
  readonly text: string;
}

// What a quantity is called.
export interface Label {
  readonly name: string; // "travel_max"
  readonly unit: string; // SI in UDUNITS spelling: "m"
  readonly longName: string; // its definition in one line
  readonly said: string; // unit in which people say it: "mm"; "1": none
  readonly decimals: number; // with which people say it
  readonly label: string; // what people call it: "travel used"
}

export interface ChannelRow extends Label {
  readonly inPreview: boolean; // whether preview() can take it
}

export interface MetricRow extends Label {
  readonly heading: string; // of its group
  readonly sense: "less" | "more" | "neither"; // which way is better
  readonly shown: boolean; // whether the program prints it of a ride alone
}

// A unit of everyday spelling: SI value = number * numerator / denominator + offset.
export interface Unit {
  readonly name: string; // "psi"
  readonly unit: string; // "Pa"
  readonly numerator: number;
  readonly denominator: number;
  readonly offset: number;
}

// A number of the one parameter table.
export interface Parameter {
  readonly name: string; // "fork.spacers"
  readonly unit: string; // SI
  readonly said: string; // unit in which people say it
  readonly longName: string;
  readonly low: number; // the closed range outside of which it is refused
  readonly high: number;
  readonly step: number | null; // 1: a whole number
  readonly fallback: number | null; // its default
  readonly readBy: string; // which set-ups read it: "an air spring (fork.spring)"; empty: all
}

// A word out of a few.
export interface Choice {
  readonly name: string; // "fork.spring"
  readonly longName: string;
  readonly values: readonly { readonly name: string; readonly meaning: string }[];
  readonly readBy: string;
}

// A number of the scene in a slot that something reads, as it is now and as it may be.
export interface Setting {
  readonly name: string;
  readonly unit: string;
  readonly said: string;
  readonly longName: string;
  readonly value: number | null; // null: an optional number that is not given
  readonly low: number; // narrower than the table's where the scene's own parts make it so
  readonly high: number;
  readonly step: number | null;
}

export interface Hold {
  readonly sag: number | null; // share of the travel
  readonly length: number | null; // [m]; both null: no sag is held
}

// The scene in a slot, judged, its sag held.
export interface Settled {
  readonly name: string;
  readonly hold: Hold;
  readonly solved: { readonly name: string; readonly unit: string; readonly value: number } | null;
  readonly settings: readonly Setting[];
  readonly words: Readonly<Record<string, string>>; // choices: "fork.spring" is "air"
  readonly uncertain: boolean; // numbers of fork or rider are not known exactly: bands() says more
  readonly notes: readonly string[]; // each a sentence that people should know
}

export interface Chamber {
  readonly volume: Float64Array; // [m3]
  readonly pressure: Float64Array; // absolute, slow [Pa]
}

// The fork at rest under its rider.
export interface Curve {
  readonly pressure: number | null; // gauge, at the pump; null: no air spring [Pa]
  readonly travel: number; // [m]
  readonly sag: number; // [m]
  readonly sagLeast: number; // between these friction may leave it [m]
  readonly sagMost: number;
  readonly breakaway: number; // [N]
  readonly progression: number;
  readonly metrics: Readonly<Record<string, number | null>>; // of the fork at rest
  readonly x: Float64Array; // travel from 0 to its end [m]
  readonly slow: Float64Array; // springs without heat: isothermal [N]
  readonly fast: Float64Array; // from the sag, isentropic [N]
  readonly stiffness: Float64Array; // slow [N/m]
  readonly main: Chamber | null;
  readonly negative: Chamber | null;
}

export interface DamperReading {
  readonly slopeAtRest: number | null; // [N s m-1]
  readonly knee: number | null; // [m s-1]
  readonly kneeForce: number | null; // [N]
}

export interface DamperDirection {
  readonly kind: string; // "slopes", "points", "hydraulic"
  readonly reading: DamperReading;
  readonly speed: Float64Array; // [m s-1]
  readonly force: Float64Array; // that resists it [N]
  readonly adjusters: readonly DamperAdjuster[];
}

export interface DamperAdjuster {
  readonly name: string; // dotted, "fork.rebound.clicks"
  readonly called: string; // "low-speed adjuster"
  readonly first: number; // clicks from closed
  readonly last: number;
  readonly asSet: number;
  readonly forces: readonly (Float64Array | null)[]; // by click from `first`; null: locked
}

export interface Damper {
  readonly compression: DamperDirection;
  readonly rebound: DamperDirection;
}

export interface Located {
  readonly time: number; // [s]
  readonly distance: number | null; // [m]
  readonly what: string; // "lift_off", "touch_down", "bumper_contact", ...
}

export interface Ride {
  readonly time: Float64Array; // [s]
  readonly channels: Readonly<Record<string, Float64Array>>; // by the names of channels()
  readonly metrics: Readonly<Record<string, number | null>>; // those that apply
  readonly energy: Readonly<Record<string, number | null>>; // [J], and closing_error
  readonly solver: Readonly<Record<string, number | null>>;
  readonly located: readonly Located[];
  readonly failure: string; // empty, or time, state and part of a ride that failed
}

export interface PreviewRow {
  readonly value: number; // of the number that is varied
  readonly label: string; // "2 spacers"
  readonly origin: "lanes" | "adaptive" | "failed";
  readonly faults: Faults; // why it can't be ridden
  readonly failure: string; // of a ride that failed
  readonly metrics: Readonly<Record<string, number | null>>; // null: does not apply
  readonly channels: Readonly<Record<string, Float64Array>>; // at k/rate
}

// Rides side by side that differ in one number, in the lanes: quicker than ride() each, and within
// what a sweep allows of it; at a glance in a fifth of that time, and held against nothing.
export interface Preview {
  readonly key: string;
  readonly rate: number; // of the channels [Hz]
  readonly rows: readonly PreviewRow[];
}

// What is not known of fork and rider leaves open of one number of a ride.
export interface OpenNumber {
  readonly low: number | null; // 95 % of the draws lie between [SI]
  readonly high: number | null;
  readonly applies: number | null; // share of the draws that have the number
  readonly from: readonly {readonly cause: string; readonly share: number | null}[];
  readonly texts: Readonly<Record<string, string>>; // "69 ± 8" by the unit that is said
  readonly mostly: string; // the largest causes: "air volumes"
}

export interface Bands {
  readonly draws: number;
  readonly failed: number; // of them can't be ridden so
  readonly numbers: Readonly<Record<string, OpenNumber>>; // of the metrics asked for, those with a band
}

export interface Ground {
  readonly distance: Float64Array; // [m]; a vertical face is two points of one distance
  readonly elevation: Float64Array; // [m]
  readonly wheelDistance: Float64Array; // path of the wheel's centre
  readonly wheelHeight: Float64Array;
  readonly length: number; // where the last feature ends [m]
}

// A figure as the program draws it, panels of curves (sim/figure/figure.hpp says what each part is).
export interface PictureOf {
  readonly title?: string;
  readonly panels: readonly PicturePanel[];
}

export interface PicturePanel {
  readonly title?: string;
  readonly x_label?: string;
  readonly y_label?: string;
  readonly series?: readonly PictureSeries[];
  readonly references?: readonly { readonly label?: string; readonly at: number; readonly vertical?: boolean }[];
  readonly spots?: readonly { readonly x: number; readonly y: number; readonly label?: string; readonly paint?: Paint }[];
  readonly zones?: readonly { readonly from: number; readonly to: number; readonly label?: string; readonly shaded?: boolean }[];
  readonly log_x?: boolean;
  readonly log_y?: boolean;
  readonly beside?: boolean;
  readonly clock?: boolean;
  readonly height?: number;
  readonly x_ends?: readonly [number, number];
  readonly y_ends?: readonly [number, number];
}

export interface PictureSeries {
  readonly label?: string;
  readonly x: Float64Array;
  readonly y?: Float64Array;
  readonly mark?: "line" | "dashed" | "points" | "dots" | "band" | "area";
  readonly paint?: Paint;
  readonly low?: Float64Array;
  readonly high?: Float64Array;
  readonly fine?: boolean;
}

// A colour of the palette, a shade from pale 0 to dark 1, or grey; left out: the next colour.
export type Paint = { readonly colour: number } | { readonly shade: number } | { readonly quiet: true };

// In units of which the labels' letters are 12 high: larger ones are had by showing it larger.
export interface PictureLook {
  readonly width?: number;
  readonly edge?: number; // left free at every side
  readonly height?: number; // of the data of an ordinary panel
  readonly curve?: number; // width of lines
}

export interface PictureAxis {
  readonly low: number;
  readonly high: number;
  readonly logarithmic: boolean;
}

export interface Picture {
  readonly svg: string; // what stands in an svg element of the page, or the file
  readonly width: number;
  readonly height: number;
  readonly title: string;
  readonly description: string; // what it shows, in words
  readonly panels: readonly {
    readonly left: number; // where the data stand
    readonly top: number;
    readonly width: number;
    readonly height: number;
    readonly over: string; // label of the x axis
    readonly x: PictureAxis;
    readonly y: PictureAxis;
  }[];
}

// Numbers as the slots take them: by dotted name, as people write them ("72 psi", "2", "coil").
export type Overrides = Readonly<Record<string, string>>;

// What the module exports (tools/page/model/door.cpp).
interface Door {
  readonly memory: WebAssembly.Memory;
  _initialize(): void;
  plunge_room(size: number): number;
  plunge_numbers_room(count: number): number;
  plunge_ask(size: number): void;
  plunge_words(): number;
  plunge_words_size(): number;
  plunge_numbers(): number;
  plunge_numbers_count(): number;
}

// Answered to every call of the system that the module's C library could make: there is none.
const NO_SYSTEM = 52;

interface Asked {
  readonly answer?: unknown;
  readonly faults?: Faults;
  readonly error?: string;
}

// A list of numbers crosses beside the words, which say where it stands.
interface Stands {
  readonly at: number;
  readonly count: number;
}

function stands(value: unknown): value is Stands {
  return typeof value === "object" && value !== null && "at" in value && "count" in value;
}

export function sayFault(fault: Fault): string {
  const place = fault.line > 0 ? `${fault.file}:${fault.line}:${fault.column}: ` : fault.file && `${fault.file}: `;
  const named = fault.key && fault.value ? `${fault.key} = ${fault.value}` : fault.key || fault.value;
  return place + (named && `${named}: `) + fault.rule;
}

export class Model {
  private readonly encoder = new TextEncoder();
  private readonly decoder = new TextDecoder("utf-8", { ignoreBOM: true });
  private broken = "";

  private constructor(private readonly door: Door) {}

  // An instance of the compiled module. It asks nothing of the machine: no file, no clock, no network.
  static async start(module: WebAssembly.Module): Promise<Model> {
    const imports: WebAssembly.Imports = {};
    for (const { module: from, name } of WebAssembly.Module.imports(module)) {
      const functions = (imports[from] ??= {});
      functions[name] =
        name === "proc_exit"
          ? () => {
              throw new ModelError("the model has ended itself");
            }
          : () => NO_SYSTEM;
    }
    const instance = await WebAssembly.instantiate(module, imports);
    const door = instance.exports as unknown as Door;
    door._initialize();
    return new Model(door);
  }

  // What program this is, in one line.
  version(): string {
    return this.ask("version", {}) as string;
  }
  scenes(): readonly ShippedScene[] {
    return this.ask("scenes", {}) as readonly ShippedScene[];
  }
  // Forks, bikes, riders and terrain.
  files(): readonly ShippedFile[] {
    return this.ask("files", {}) as readonly ShippedFile[];
  }
  units(): readonly Unit[] {
    return this.ask("units", {}) as readonly Unit[];
  }
  parameters(): readonly Parameter[] {
    return this.ask("parameters", {}) as readonly Parameter[];
  }
  choices(): readonly Choice[] {
    return this.ask("choices", {}) as readonly Choice[];
  }
  channels(): readonly ChannelRow[] {
    return this.ask("channels", {}) as readonly ChannelRow[];
  }
  metricRows(): readonly MetricRow[] {
    return this.ask("metric_rows", {}) as readonly MetricRow[];
  }

  // A file that scenes may name, beside those that are shipped or in place of one.
  put(path: string, text: string): void {
    this.ask("put", { path, text });
  }

  // Puts a scene into a slot; `path` says where it lies among the files that it may name, and
  // stands in its faults. Where there are faults the slot keeps what it held.
  load(slot: number, sceneText: string, path = "scenes/scene.toml"): Faults {
    return this.faultsOf("load", { slot, text: sceneText, path });
  }
  // Lays overrides, and a sag to hold as a share of the travel, over the scene as it was loaded:
  // earlier overrides are forgotten. "pressure" holds no sag. Where there are faults the slot keeps
  // what it held.
  set(slot: number, overrides: Overrides, holdSag?: number | "pressure"): Faults {
    return this.faultsOf("set", { slot, set: overrides, hold: holdSag ?? null });
  }
  settled(slot: number): Settled {
    return this.ask("settled", { slot }) as Settled;
  }
  // A scene file, everything in it, that the program rides to the same numbers.
  sceneText(slot: number): string {
    return this.ask("scene_text", { slot }) as string;
  }

  curve(slot: number, points: number): Curve {
    return this.ask("curve", { slot, points }) as Curve;
  }
  damper(slot: number): Damper {
    return this.ask("damper", { slot }) as Damper;
  }
  ground(slot: number): Ground {
    return this.ask("ground", { slot }) as Ground;
  }
  ride(slot: number): Ride {
    return this.ask("ride", { slot }) as Ride;
  }
  // `values` in SI, by the parameter's own unit; "hold.sag" is a share of the travel.
  preview(
    slot: number,
    key: string,
    values: readonly number[],
    metrics: readonly string[],
    channels: readonly string[],
    glance = false,
  ): Preview {
    return this.ask("preview", { slot, key, values, metrics, channels, glance }) as Preview;
  }

  // Drawn for a page, or as a file of its own.
  figure(figure: PictureOf, look: PictureLook, file = false): Picture {
    return this.ask("figure", { figure, look, file }) as Picture;
  }
  // What was last ridden in the slots, as the program draws rides side by side.
  rideFigure(slots: readonly number[], labels: readonly string[], title: string, bar: boolean, look: PictureLook, file = false): Picture {
    return this.ask("ride_figure", { slots, labels, title, bar, look, file }) as Picture;
  }

  // Rides the set-up anew with draws of what is not known, hundreds of times; null: all is known.
  // `metrics`: values of the ride itself, which the texts begin with.
  bands(slot: number, metrics: Readonly<Record<string, number | null>>): Bands | null {
    return this.ask("bands", { slot, metrics }) as Bands | null;
  }

  private faultsOf(question: string, given: object): Faults {
    try {
      this.ask(question, given);
      return [];
    } catch (error) {
      if (error instanceof ModelError && error.faults.length > 0) return error.faults;
      throw error;
    }
  }

  private ask(question: string, given: object): unknown {
    if (this.broken) throw new ModelError(this.broken);
    const lists: Float64Array[] = [];
    let count = 0;
    const request = JSON.stringify({ ask: question, ...given }, (_key, value: unknown) => {
      if (!(value instanceof Float64Array)) return value;
      lists.push(value);
      count += value.length;
      return { at: count - value.length, count: value.length };
    });
    const { words, numbers } = this.cross(request, lists, count);
    // Without a function that looks at every value it is read ten times as fast.
    const asked = (numbers.length === 0 ? JSON.parse(words)
      : JSON.parse(words, (_key, value: unknown) => stands(value) ? numbers.slice(value.at, value.at + value.count) : value)) as Asked;
    if (asked.faults) throw new ModelError(asked.faults.map(sayFault).join("\n"), asked.faults);
    if (asked.error !== undefined) throw new ModelError(asked.error);
    return asked.answer;
  }

  // The numbers are a view of the module's memory, good until the next question.
  private cross(request: string, lists: readonly Float64Array[] = [], count = 0): { words: string; numbers: Float64Array } {
    const door = this.door;
    const bytes = this.encoder.encode(request);
    try {
      const room = door.plunge_room(bytes.length);
      const beside = door.plunge_numbers_room(count);
      new Uint8Array(door.memory.buffer, room, bytes.length).set(bytes);
      const given = new Float64Array(door.memory.buffer, beside, count);
      lists.reduce((at, list) => {
        given.set(list, at);
        return at + list.length;
      }, 0);
      door.plunge_ask(bytes.length);
    } catch (error) {
      // After a trap the module's memory may hold anything.
      this.broken = `the model has stopped, reload the page: ${String(error)}`;
      throw new ModelError(this.broken);
    }
    const { buffer } = door.memory;
    return {
      words: this.decoder.decode(new Uint8Array(buffer, door.plunge_words(), door.plunge_words_size())),
      numbers: new Float64Array(buffer, door.plunge_numbers(), door.plunge_numbers_count()),
    };
  }
}
