// A set-up as the page's knobs say it, and how the model takes it: a scene's text with overrides.
// Also its spelling in the address, "#room?scene=roots&spacers=2", which anybody may have written.

import type {Overrides, ShippedScene} from "./model";

export type OwnKind = "drop" | "bump";
export const FORKS = ["teasel-150", "sorrel-120", "bracken-200", "rented-140"] as const;

// What the model reads under `name`, as the knob of the page says it. The units are those that the
// model itself says; numbers outside of the model's range it refuses itself.
export interface KnobRow {
  readonly key: string; // in the address
  readonly name: string; // dotted, of the model
  readonly label: string;
  readonly unit: string; // as people say it
  readonly low: number; // of the slider; the model's own range may be narrower
  readonly high: number;
  readonly step: number;
  readonly start?: number; // where a spring that the scene's fork lacks begins
  readonly decimals: number;
  readonly group: "spring" | "damper" | "rider" | "ground";
}

export const KNOBS: readonly KnobRow[] = [
  {key: "pressure", name: "fork.pressure", label: "pressure", unit: "psi", low: 20, high: 160, step: 0.5, decimals: 1, group: "spring"},
  {key: "spacers", name: "fork.spacers", label: "volume spacers", unit: "1", low: 0, high: 8, step: 1, decimals: 0, group: "spring"},
  {key: "main", name: "fork.air.main_volume", label: "main chamber", unit: "cm3", low: 120, high: 320, step: 1, decimals: 0, group: "spring"},
  {key: "negative", name: "fork.air.negative_volume", label: "negative chamber", unit: "cm3", low: 5, high: 60, step: 1, decimals: 0, group: "spring"},
  {key: "rate", name: "fork.coil.rate", label: "rate of the coil", unit: "N/mm", low: 2, high: 16, step: 0.1, start: 7, decimals: 1, group: "spring"},
  {key: "compression", name: "fork.compression.clicks", label: "compression, clicks from closed", unit: "1", low: 0, high: 30, step: 1, decimals: 0, group: "damper"},
  {key: "compression-high", name: "fork.compression.high_speed_clicks", label: "compression, high speed, clicks", unit: "1", low: 0, high: 30, step: 1, decimals: 0, group: "damper"},
  {key: "rebound", name: "fork.rebound.clicks", label: "rebound, clicks from closed", unit: "1", low: 0, high: 30, step: 1, decimals: 0, group: "damper"},
  {key: "rebound-high", name: "fork.rebound.high_speed_clicks", label: "rebound, high speed, clicks", unit: "1", low: 0, high: 30, step: 1, decimals: 0, group: "damper"},
  {key: "rider", name: "rider.mass", label: "rider with clothing and pack", unit: "kg", low: 40, high: 130, step: 1, decimals: 0, group: "rider"},
  {key: "front", name: "rider.front_share", label: "weight on the front wheel", unit: "%", low: 30, high: 50, step: 0.5, decimals: 1, group: "rider"},
  {key: "speed", name: "ride.speed", label: "speed", unit: "km/h", low: 5, high: 50, step: 0.5, decimals: 1, group: "ground"},
];

// Of a drop or a bump of one's own; they stand in the scene's text.
export interface OwnRow {
  readonly key: "height" | "landing" | "length";
  readonly label: string;
  readonly unit: string;
  readonly low: number;
  readonly high: number;
  readonly step: number;
  readonly of: readonly OwnKind[];
}

export const OWN_ROWS: readonly OwnRow[] = [
  {key: "height", label: "height", unit: "mm", low: 20, high: 1200, step: 10, of: ["drop", "bump"]},
  {key: "landing", label: "slope of the landing", unit: "deg", low: 0, high: 30, step: 1, of: ["drop"]},
  {key: "length", label: "length", unit: "mm", low: 100, high: 3000, step: 50, of: ["bump"]},
];

export type Spring = "air" | "coil";
export type Negative = "air" | "none";

export interface SetUp {
  readonly scene: string; // "drop-to-landing", or "drop" and "bump": one's own
  readonly fork: string; // of a drop or bump of one's own
  readonly own: Readonly<Record<OwnRow["key"], number>>;
  readonly spring: Spring;
  readonly negative: Negative;
  readonly sag: number | null; // % of travel that is held; null: the pressure is
  readonly values: Readonly<Record<string, number>>; // by a knob's key; the others as the scene says
}

// Sags that can be chosen, in % of travel.
export const SAG = {low: 10, high: 40, step: 0.5} as const;

// What a knob of that name can say.
export function knobbed(key: string, value: number): number {
  const row = KNOBS.find((knob) => knob.key === key);
  return row ? Math.min(row.high, Math.max(row.low, value)) : value;
}

export const FIRST: SetUp = {
  scene: "drop-to-landing", fork: "teasel-150", own: {height: 400, landing: 0, length: 800},
  spring: "air", negative: "air", sag: 22, values: {},
};

export function isOwn(setUp: SetUp): boolean {
  return setUp.scene === "drop" || setUp.scene === "bump";
}

// What the model is asked about; plain data, which a worker can be sent.
export interface Case {
  readonly text: string;
  readonly path: string;
  readonly set: Overrides;
  readonly hold: number | "pressure";
}

function ownScene(setUp: SetUp): string {
  const {height, landing, length} = setUp.own;
  const feature = setUp.scene === "drop"
    ? `kind = "drop"\nheight = "${height} mm"\n` +
      (landing > 0 ? `landing_angle = "${landing} deg"\nlanding_length = "5 m"\nrun_out = "4 m"\n` : "")
    : `kind = "bump"\nshape = "half_sine"\nheight = "${height} mm"\nlength = "${length} mm"\n`;
  return `type = "scene"\nformat = [1, 0]\nname = "a ${setUp.scene} of one's own, ${height} mm"\n` +
    `fork = "../forks/${setUp.fork}.toml"\nrider = "../riders/hazel.toml"\nbike = "../bikes/trail.toml"\n\n` +
    `[ride]\nspeed = "20 km/h"\n\n[[terrain]]\nkind = "flat"\nlength = "4 m"\n\n[[terrain]]\n${feature}\n` +
    `[[terrain]]\nkind = "flat"\nlength = "14 m"\n`;
}

export function quantity(value: number, row: KnobRow): string {
  const number = String(Number(value.toFixed(4)));
  return row.unit === "1" ? number : `${number} ${row.unit}`;
}

// Whether a knob has a say: an air spring has no coil, a held sag leaves no pressure to choose.
export function hasSay(row: KnobRow, setUp: SetUp): boolean {
  if (row.key === "pressure") return setUp.spring === "air" && setUp.sag === null;
  if (row.key === "rate") return setUp.spring === "coil";
  if (row.key === "negative") return setUp.spring === "air" && setUp.negative === "air";
  if (row.key === "spacers" || row.key === "main") return setUp.spring === "air";
  return true;
}

export function sceneName(path: string): string {
  return path.replace(/^.*\//, "").replace(/\.toml$/, "");
}

export function sceneTexts(scenes: readonly ShippedScene[]): ReadonlyMap<string, string> {
  return new Map(scenes.map((scene) => [sceneName(scene.path), scene.text]));
}

// `texts`: the shipped scenes by name.
export function caseOf(setUp: SetUp, texts: ReadonlyMap<string, string>): Case {
  const text = isOwn(setUp) ? ownScene(setUp) : texts.get(setUp.scene);
  if (text === undefined) throw new Error(`there is no scene called ${setUp.scene}`);
  const set: Record<string, string> = {};
  for (const row of KNOBS) {
    const value = setUp.values[row.key] ?? row.start;
    if (value !== undefined && hasSay(row, setUp)) set[row.name] = quantity(value, row);
  }
  if (setUp.spring === "coil") {
    set["fork.spring"] = "coil";
  } else if (setUp.negative === "none") {
    set["fork.negative"] = "none";
  }
  return {text, path: `scenes/${setUp.scene}.toml`, set, hold: setUp.sag === null ? "pressure" : setUp.sag / 100};
}

// ---- the address

export function spelled(setUp: SetUp, before = ""): string[] {
  const words = [`${before}scene=${setUp.scene}`];
  if (isOwn(setUp)) {
    words.push(`${before}fork=${setUp.fork}`);
    for (const row of OWN_ROWS) {
      if (row.of.includes(setUp.scene as OwnKind)) words.push(`${before}${row.key}=${setUp.own[row.key]}`);
    }
  }
  if (setUp.spring !== "air") words.push(`${before}spring=${setUp.spring}`);
  if (setUp.negative !== "air") words.push(`${before}chamber=${setUp.negative}`);
  words.push(`${before}sag=${setUp.sag ?? "free"}`);
  for (const row of KNOBS) {
    const value = setUp.values[row.key];
    if (value !== undefined) words.push(`${before}${row.key}=${Number(value.toFixed(4))}`);
  }
  return words;
}

export interface Room {
  readonly a: SetUp;
  readonly b: SetUp | null;
}

export function roomAddress(room: Room): string {
  return `#room?${[...spelled(room.a), ...(room.b ? spelled(room.b, "b.") : [])].join("&")}`;
}

export class AddressError extends Error {}

const LONGEST = 1500;

function shown(text: string): string {
  const clean = text.replace(/[\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2066-\u2069]/g, "?");
  return clean.length > 40 ? `${clean.slice(0, 40)}…` : clean;
}

function number(key: string, text: string, low: number, high: number, unit: string): number {
  const value = /^[-+]?\d{1,6}(\.\d{1,6})?$/.test(text) ? Number(text) : NaN;
  if (!(value >= low && value <= high)) {
    const said = unit === "1" ? "" : ` ${unit}`;
    throw new AddressError(`${shown(key)}=${shown(text)}: must be a number from ${low} to ${high}${said}`);
  }
  return value;
}

function word<T extends string>(key: string, text: string, words: readonly T[]): T {
  const found = words.find((w) => w === text);
  if (found === undefined) {
    throw new AddressError(`${shown(key)}=${shown(text)}: must be one of ${words.join(", ")}`);
  }
  return found;
}

function setUpOf(entries: ReadonlyMap<string, string>, before: string, scenes: readonly string[]): SetUp {
  let made: SetUp = FIRST;
  const values: Record<string, number> = {};
  for (const [key, text] of entries) {
    const name = key.slice(before.length);
    const knob = KNOBS.find((row) => row.key === name);
    const own = OWN_ROWS.find((row) => row.key === name);
    if (knob) {
      const value = number(key, text, knob.low, knob.high, knob.unit);
      if (knob.step === 1 && knob.unit === "1" && !Number.isInteger(value)) {
        throw new AddressError(`${shown(key)}=${shown(text)}: must be a whole number`);
      }
      values[knob.key] = value;
    } else if (own) {
      made = {...made, own: {...made.own, [own.key]: number(key, text, own.low, own.high, own.unit)}};
    } else if (name === "scene") {
      made = {...made, scene: word(key, text, [...scenes, "drop", "bump"])};
    } else if (name === "fork") {
      made = {...made, fork: word(key, text, FORKS)};
    } else if (name === "spring") {
      made = {...made, spring: word<Spring>(key, text, ["air", "coil"])};
    } else if (name === "chamber") {
      made = {...made, negative: word<Negative>(key, text, ["air", "none"])};
    } else if (name === "sag") {
      made = {...made, sag: text === "free" ? null : number(key, text, SAG.low, SAG.high, "%")};
    } else {
      throw new AddressError(`${shown(key)}: nothing in the room is called that`);
    }
  }
  return {...made, values};
}

// Throws an AddressError that says what is wrong. `query`: what follows "#room?".
export function readRoom(query: string, scenes: readonly string[]): Room {
  if (query.length > LONGEST) {
    throw new AddressError(`it is ${query.length} letters long: a set-up has at most ${LONGEST}`);
  }
  const a = new Map<string, string>();
  const b = new Map<string, string>();
  for (const part of query.split("&").filter((p) => p !== "")) {
    const cut = part.indexOf("=");
    let key: string;
    let text: string;
    try {
      key = decodeURIComponent(cut < 0 ? part : part.slice(0, cut));
      text = cut < 0 ? "" : decodeURIComponent(part.slice(cut + 1));
    } catch {
      throw new AddressError(`${shown(part)}: is not spelled as addresses are`);
    }
    const into = key.startsWith("b.") ? b : a;
    if (into.has(key)) throw new AddressError(`${shown(key)}: is said twice`);
    into.set(key, text);
  }
  return {a: setUpOf(a, "", scenes), b: b.size > 0 ? setUpOf(b, "b.", scenes) : null};
}
