// The free room: knobs, the linked views of one or two set-ups, their numbers, and what can be saved.

import {html, nothing, type TemplateResult} from "lit-html";
import {Bench, Units, travelled, type Where} from "./bench";
import {SLOTS, timesOf, type Facts, type Lab, type Look, type RideFigure, type Traces} from "./lab";
import type {Bands, MetricRow, OpenNumber, Picture, Preview, Setting} from "./model";
import type {OpenNumbers} from "./open";
import {CURVE, LETTERS, NARROWEST, along, tell, type Sizes} from "./plot";
import {pictureText, save, savePicture, tableText, type Column, type Format} from "./save";
import {
  FIRST, FORKS, KNOBS, OWN_ROWS, SAG, caseOf, hasSay, isOwn, knobbed, roomAddress, sceneName, sceneTexts,
  type Case, type KnobRow, type OwnKind, type Room, type SetUp,
} from "./setup";
import {slider} from "./slider";
import {canStage, stage} from "./stage";
import {
  chamberView, differenceView, energyView, forceView, pressureView, rideView, timeView, type Shared, type Spread,
} from "./views";

type Side = "a" | "b";

// One set-up in the room and what the model has said of it.
interface Bay {
  setUp: SetUp;
  bench: Bench | null; // newest, perhaps a preview
  ridden: Bench | null; // of the last whole ride
  open: Bands | "asked" | null; // what is not known leaves open of that ride's numbers; null: nothing
  wrong: string; // why the newest can't be had
  asked: number; // counts what was asked, so that late rides are told
  rides: number; // counts the rides that were asked for, so that late previews are told
  busy: boolean;
  spread: readonly Spread[]; // by spacers, where that is asked for
  pause: number; // timer after which a knob that is still held is ridden as well
}

const PAUSE = 1500; // ms
const PANEL = 150; // height of a panel of the rides: all of them stand on one page of paper

const SPEEDS = [
  {rate: 1, say: "as ridden"}, {rate: 0.25, say: "a quarter of the speed"}, {rate: 0.1, say: "a tenth of the speed"},
] as const;

// Numbers that are shown at once; all others that the model says stand below.
const FIRST_NUMBERS = [
  "pressure", "sag", "breakaway_force", "progression", "travel_max", "travel_use", "bumper_contacts",
  "metal_contacts", "metal_speed_max", "fork_force_max", "axle_force_max", "ground_force_max", "hand_force_max",
];

export class FreeRoom {
  private a: Bay;
  private b: Bay | null;
  private edits: Side = "a";
  private where: Where = {by: "ride", time: 0};
  private lastTime = 0;
  private playing = false;
  private speed = 0.25;
  private before = 0;
  private unfolded = innerWidth >= 760; // on a phone the views come first
  private sceneFile = "";
  private spreads = false; // whether other numbers of spacers are ridden beside
  private figure: {readonly key: string; readonly picture: Picture | null} = {key: "", picture: null}; // of the rides
  private pictured = "ride"; // that is saved as a picture
  private readonly texts: ReadonlyMap<string, string>;
  private readonly units: Units;

  constructor(
    private readonly lab: Lab, private readonly bands: OpenNumbers, private readonly facts: Facts, private readonly sizes: Sizes,
    private readonly draw: () => void, private readonly bar: () => boolean,
    private readonly address: (address: string) => void, room: Room,
  ) {
    this.texts = sceneTexts(facts.scenes);
    this.units = new Units(facts.units);
    this.a = bay(room.a);
    this.b = room.b && bay(room.b);
  }

  // Shows these set-ups, as an address says them.
  show(room: Room): void {
    clearTimeout(this.a.pause);
    if (this.b) clearTimeout(this.b.pause);
    this.bands.drop("b");
    this.a = bay(room.a);
    this.b = room.b && bay(room.b);
    this.edits = "a";
    this.playing = false;
    this.refresh();
  }

  refresh(): void {
    this.ride("a", true);
    if (this.b) this.ride("b", true);
  }

  private bayOf(side: Side): Bay {
    return side === "b" && this.b ? this.b : this.a;
  }

  // The whole answer: curves first, then the adaptive ride.
  private ride(side: Side, first = false): void {
    const at = this.bayOf(side);
    const asked = ++at.asked;
    ++at.rides;
    clearTimeout(at.pause);
    this.known(side, at);
    const of = caseOf(at.setUp, this.texts);
    at.busy = true;
    const late = () => at.asked !== asked;
    const wrong = (error: Error) => {
      if (late()) return;
      at.busy = false;
      this.refused(at, error.message);
    };
    this.lab.look(of).then((look) => {
      if (late()) return;
      at.wrong = "";
      at.bench = new Bench(look, at.bench?.traces ?? null);
      this.draw();
      return this.lab.ride(of, SLOTS[side]).then((traces) => {
        if (late()) return;
        this.take(at, look, traces, first && side === "a");
        if (look.settled.uncertain && !traces.failure) this.askOpen(side, at, of, traces);
      });
    }).catch(wrong);
  }

  private known(side: Side, at: Bay): void {
    this.bands.drop(side);
    at.open = null;
  }

  // What nobody has measured, after the ride itself is shown.
  private askOpen(side: Side, at: Bay, of: Case, traces: Traces): void {
    const metrics = Object.fromEntries(FIRST_NUMBERS.map((name) => [name, traces.metrics[name] ?? null]));
    at.open = "asked";
    this.bands.ask({side, of, metrics, then: (bands, wrong) => {
      at.open = bands;
      if (wrong) at.wrong = wrong;
      this.draw();
    }});
  }

  private take(at: Bay, look: Look, traces: Traces, first: boolean): void {
    at.busy = false;
    if (traces.failure) {
      this.refused(at, traces.failure);
      return;
    }
    at.wrong = "";
    at.bench = new Bench(look, traces);
    at.ridden = at.bench;
    if (at === this.a) {
      const deepest = at.bench.time(Math.max(0, at.bench.deepest()));
      if (first) this.lastTime = deepest;
      this.lastTime = Math.min(this.lastTime, at.bench.duration);
      if (this.where.by === "ride") this.where = {by: "ride", time: this.lastTime};
      else this.where = {by: "hand", travel: Math.min(this.where.travel, at.bench.end)};
    }
    this.draw();
    this.rideSpread(at);
  }

  // Numbers of spacers that are ridden beside: 0 to 4, as far as the fork takes them, and its own.
  private countsOf(at: Bay): readonly number[] | null {
    const row = at.bench?.look.settled.settings.find((setting) => setting.name === "fork.spacers");
    if (!this.spreads || at !== this.a || !row || row.value === null) return null;
    const counts = Array.from({length: Math.min(4, row.high) + 1}, (_, count) => count);
    const own = at.setUp.values["spacers"] ?? row.value;
    return counts.includes(own) ? counts : [...counts, own];
  }

  private rideSpread(at: Bay): void {
    const counts = this.countsOf(at);
    at.spread = counts ? at.spread : [];
    if (!counts) return;
    const {asked} = at;
    this.lab.row(caseOf(at.setUp, this.texts), "fork.spacers", counts, [], ["travel"]).then((row) => {
      if (at.asked !== asked) return;
      at.spread = spreadOf(row);
      this.draw();
    }, () => undefined); // what keeps it from being ridden is told of the ride itself
  }

  // The views go back to what was ridden last, so that they show one set-up.
  private refused(at: Bay, why: string): void {
    at.wrong = why;
    at.bench = at.ridden ?? (at.bench && new Bench(at.bench.look, null));
    this.draw();
  }

  // While a knob moves: curves and a preview; the ride follows when it is let go.
  private preview(side: Side, name: string, si: number): void {
    const at = this.bayOf(side);
    ++at.asked;
    at.busy = false;
    this.known(side, at);
    const {rides} = at;
    this.lab.rough(caseOf(at.setUp, this.texts), {key: name, value: si}, this.countsOf(at), ({look, traces, spread}) => {
      if (at.rides !== rides) return;
      at.wrong = "";
      if (spread) at.spread = spreadOf(spread);
      at.bench = new Bench(look, traces);
      this.draw();
    }, (error) => {
      if (at.rides === rides) this.refused(at, error.message);
    });
    // Not every way of letting a knob go is told.
    clearTimeout(at.pause);
    at.pause = setTimeout(() => {
      if (at.rides === rides && this.bayOf(side) === at) this.settle(side);
    }, PAUSE);
  }

  private settle(side: Side): void {
    this.lab.dropRough();
    this.ride(side);
    this.address(this.here());
    this.draw();
  }

  // The address of what is shown.
  here(): string {
    return roomAddress({a: this.a.setUp, b: this.b?.setUp ?? null});
  }

  private beside(): void {
    this.b = {...bay(this.a.setUp), bench: this.a.bench, ridden: this.a.ridden};
    this.edits = "b";
    this.ride("b");
    this.address(this.here());
    this.draw();
  }

  private alone(): void {
    if (this.b) clearTimeout(this.b.pause);
    this.bands.drop("b");
    this.b = null;
    this.edits = "a";
    this.sceneFile = "";
    this.address(this.here());
    this.draw();
  }

  private change(setUp: SetUp, done: boolean, varied?: {name: string; si: number}): void {
    const at = this.bayOf(this.edits);
    at.setUp = setUp;
    this.sceneFile = "";
    if (!done && varied) {
      this.preview(this.edits, varied.name, varied.si);
      this.draw();
    } else {
      this.settle(this.edits);
    }
  }

  // ---- time

  private play(on: boolean): void {
    this.playing = on;
    if (on) {
      const end = this.a.bench?.duration ?? 0;
      if (this.lastTime >= end - 1e-3) this.lastTime = 0;
      this.where = {by: "ride", time: this.lastTime};
      this.before = performance.now();
      requestAnimationFrame((now) => this.tick(now));
    }
    this.draw();
  }

  private tick(now: number): void {
    if (!this.playing) return;
    const end = this.a.bench?.duration ?? 0;
    this.lastTime = Math.min(end, this.lastTime + Math.max(0, now - this.before) * 1e-3 * this.speed);
    this.before = now;
    this.where = {by: "ride", time: this.lastTime};
    if (this.lastTime >= end) this.playing = false;
    this.draw();
    if (this.playing) requestAnimationFrame((next) => this.tick(next));
  }

  // On a projector the views come first.
  fold(): void {
    this.unfolded = false;
  }

  // The page shows something else: nothing moves meanwhile.
  rest(): void {
    this.playing = false;
  }

  // ---- what is drawn

  view(): TemplateResult {
    const {a, b} = this;
    return html`<h1>The free room</h1>
      <p>Turn a knob and let go: the model rides again. One dot is shown in every view, and can be dragged in each.</p>
      <div class="room">
        <details class="fold" ?open=${this.unfolded} @toggle=${(e: Event) => { this.unfolded = (e.target as HTMLDetailsElement).open; }}><summary>Knobs</summary>
          <form class="knobs" @submit=${(e: Event) => e.preventDefault()} aria-label="knobs">${this.knobs()}</form></details>
        <div class="views">
          ${this.messages()}
          ${a.bench ? this.panels(a.bench, b?.bench ?? null) : a.wrong ? nothing : html`<p class="busy wide">The model is riding…</p>`}
        </div>
      </div>`;
  }

  private messages(): TemplateResult {
    const rows = (["a", "b"] as const).flatMap((side) => {
      const at = side === "b" ? this.b : this.a;
      if (!at) return [];
      const name = this.b ? `${side.toUpperCase()}: ` : "";
      const notes = at.bench?.look.settled.notes ?? [];
      return [
        ...(at.wrong ? [html`<div class="message" role="alert"><p>${name}${at.wrong}${at.ridden ? html`<br><small>The views show the last set-up that could be ridden.</small>` : nothing}</p></div>`] : []),
        ...notes.map((note) => html`<p class="note">${name}${note}</p>`),
      ];
    });
    return html`${rows.length > 0 ? html`<div class="wide" aria-live="polite">${rows}</div>` : nothing}`;
  }

  private doing(): string {
    if (this.a.bench?.rough || this.b?.bench?.rough) return "a preview while the knob moves; the ride itself follows";
    return this.a.busy || this.b?.busy ? "riding…" : "";
  }

  private panels(a: Bench, b: Bench | null): TemplateResult {
    const shared: Shared = {
      a, b, where: this.where, units: this.units, bar: this.bar(), sizes: this.sizes,
      hand: (travel) => {
        this.playing = false;
        this.where = {by: "hand", travel};
        this.draw();
      },
      ride: (time) => {
        this.playing = false;
        this.lastTime = time;
        this.where = {by: "ride", time};
        this.draw();
      },
    };
    const now = a.at(this.where);
    const still = this.a.ridden && canStage(this.a.ridden) ? this.a.ridden : null;
    const work = a.work(Math.min(Math.max(now.travel, 0), a.end));
    const drag = {time: this.lastTime, duration: still?.duration ?? 0, move: shared.ride};
    return html`
      <section class="panel wide" data-view="stage"><h3>${a.look.settled.name}</h3>
        ${still ? stage("stage", still, b ? this.b?.ridden ?? null : null, this.where, drag, this.sizes) : html`<p class="busy">riding…</p>`}
        ${this.transport(still)}
      </section>
      <section class="panel wide" data-view="time"><h3>Travel over time</h3>${timeView(shared, this.a.spread)}${this.spreading()}</section>
      <section class="panel wide" data-view="chambers"><h3>The spring inside</h3>
        ${a.volumes ? chamberView(shared) : html`<p>A coil spring has no chambers: its force is a straight line of its travel.</p>`}</section>
      <section class="panel" data-view="force"><h3>Force over travel</h3>${forceView(shared)}
        <p class="small">Shaded: ${tell(work, 0)} J of work, slowly from full extension to the dot. Thin: as ridden.</p></section>
      <section class="panel" data-view="pressure"><h3>Pressure over volume</h3>
        ${a.volumes ? html`${pressureView(shared)}<p class="small">Shaded: work done on the gas of the main chamber. Thin: as ridden, a loop where heat was lost.</p>`
          : html`<p>Nothing to show for a coil.</p>`}</section>
      <section class="panel" data-view="energy"><h3>Where the work of this stroke is</h3>${energyView(shared)}
        <p class="small">${this.where.by === "hand" ? "Pushed in slowly by hand." : a.rough ? "A preview says nothing of it: it comes with the ride itself." : "Since this stroke began; friction and damper keep what they take."}${bookOf(a)}</p></section>
      ${b ? html`<section class="panel" data-view="difference"><h3>The difference</h3>${differenceView(shared)}</section>` : nothing}
      ${this.ridden(shared, still, b)}
      <section class="panel wide" data-view="numbers"><h3>Numbers</h3>${this.numbers(a, b)}</section>
      <section class="panel wide no-print" data-view="save"><h3>To keep</h3>${this.saving(a, b)}</section>`;
  }

  // ---- the rides as the program draws them

  private rideFigure(a: Bench, look: RideFigure["look"], file: boolean): RideFigure {
    const b = this.b?.ridden ?? null;
    return {
      slots: b ? [SLOTS.a, SLOTS.b] : [SLOTS.a], labels: b ? ["A", "B"] : [""], title: file ? a.look.settled.name : "",
      bar: this.bar(), look, file,
    };
  }

  // What was last ridden whole: asked for again where that, the room for it or the unit changes.
  private ridden(shared: Shared, a: Bench | null, b: Bench | null): TemplateResult | typeof nothing {
    if (!a) return nothing;
    const scale = this.sizes.text() / LETTERS;
    const of = this.rideFigure(a, {width: Math.max(NARROWEST, Math.round(this.sizes.width("ride") / scale)), edge: 3, height: PANEL, curve: CURVE}, false);
    const key = JSON.stringify([of, numberOf(a), b && this.b?.ridden ? numberOf(this.b.ridden) : 0]);
    if (key !== this.figure.key) {
      this.figure = {key, picture: this.figure.picture};
      this.lab.figure(of).then((picture) => {
        if (this.figure.key !== key) return;
        this.figure = {key, picture};
        this.draw();
      }, () => undefined); // what keeps it from being ridden is told elsewhere
    }
    const {picture} = this.figure;
    return html`<section class="panel wide" data-view="ride"><h3>The ride, as the program draws it</h3>
      <div class="plot" data-plot="ride">${picture ? rideView(shared, a, picture, scale) : html`<p class="busy">drawing…</p>`}</div></section>`;
  }

  private spreading(): TemplateResult | typeof nothing {
    if (!this.a.bench?.volumes) return nothing;
    const to = (event: Event) => {
      this.spreads = (event.target as HTMLInputElement).checked;
      this.rideSpread(this.a);
      this.draw();
    };
    return html`<label class="choice no-print"><input type="checkbox" .checked=${this.spreads} @change=${to}><span>beside it the same with 0 to 4 spacers${this.a.setUp.sag === null ? "" : ", each at the same sag"}</span></label>`;
  }

  private transport(still: Bench | null): TemplateResult {
    const end = still?.duration ?? 0;
    const to = (event: Event) => {
      this.playing = false;
      this.lastTime = Number((event.target as HTMLInputElement).value);
      this.where = {by: "ride", time: this.lastTime};
      this.draw();
    };
    return html`<div class="row no-print">
      <button type="button" class="main" ?disabled=${end <= 0} @click=${() => this.play(!this.playing)}>${this.playing ? "Stop" : "Ride"}</button>
      <label class="row">at <select aria-label="speed of the picture" @change=${(e: Event) => { this.speed = Number((e.target as HTMLSelectElement).value); this.draw(); }}>
        ${SPEEDS.map((row) => html`<option value=${row.rate} .selected=${this.speed === row.rate}>${row.say}</option>`)}</select></label>
      <button type="button" ?disabled=${!still} @click=${() => { if (!still) return; this.playing = false; this.lastTime = still.time(Math.max(0, still.deepest())); this.where = {by: "ride", time: this.lastTime}; this.draw(); }}>To the deepest travel</button>
      <span class="busy small" role="status">${this.doing()}</span>
      <input type="range" aria-label="time of the ride, seconds" min="0" max=${end} step="0.01" .value=${String(this.lastTime)} @input=${to}>
    </div>`;
  }

  // ---- knobs

  private knobs(): TemplateResult {
    const at = this.bayOf(this.edits);
    const {setUp} = at;
    return html`
      <fieldset><legend>Set-ups</legend>
        <div class="row">
          ${this.b ? html`
            <button type="button" aria-pressed=${this.edits === "a"} @click=${() => { this.edits = "a"; this.draw(); }}>Turn A</button>
            <button type="button" aria-pressed=${this.edits === "b"} @click=${() => { this.edits = "b"; this.draw(); }}>Turn B</button>
            <button type="button" @click=${() => this.alone()}>Take B away</button>`
            : html`<button type="button" @click=${() => this.beside()}>Lay a second beside it</button>`}
          <button type="button" @click=${() => this.change(FIRST, true)}>As at first</button>
        </div></fieldset>
      <fieldset><legend>Where it rides</legend>
        <div class="knob"><label for="k-scene">scene</label>
          <select id="k-scene" @change=${(e: Event) => this.change({...setUp, scene: (e.target as HTMLSelectElement).value, values: kept(setUp)}, true)}>
            ${this.facts.scenes.map((scene) => html`<option value=${sceneName(scene.path)} .selected=${setUp.scene === sceneName(scene.path)}>${scene.name}</option>`)}
            <option value="drop" .selected=${setUp.scene === "drop"}>a drop of your own</option>
            <option value="bump" .selected=${setUp.scene === "bump"}>a bump of your own</option>
          </select></div>
        ${isOwn(setUp) ? html`
          <div class="knob"><label for="k-fork">fork</label>
            <select id="k-fork" @change=${(e: Event) => this.change({...setUp, fork: (e.target as HTMLSelectElement).value, values: kept(setUp)}, true)}>
              ${FORKS.map((fork) => html`<option value=${fork} .selected=${setUp.fork === fork}>${fork.replace("-", " ")}</option>`)}
            </select></div>
          ${OWN_ROWS.filter((row) => row.of.includes(setUp.scene as OwnKind)).map((row) => slider({
            id: `k-${row.key}`, label: row.label, low: row.low, high: row.high, step: row.step, value: setUp.own[row.key],
            say: (value) => `${tell(value, 0)} ${row.unit === "deg" ? "°" : row.unit}`,
            to: (value, done) => this.own(setUp, row.key, value, done),
          }))}` : nothing}
        ${this.group("ground", at)}</fieldset>
      <fieldset><legend>Spring</legend>
        <div class="knob"><label for="k-spring">main spring</label>
          <select id="k-spring" @change=${(e: Event) => this.change((e.target as HTMLSelectElement).value === "coil" ? coiled(setUp, at) : {...setUp, spring: "air"}, true)}>
            <option value="air" .selected=${setUp.spring === "air"}>air</option><option value="coil" .selected=${setUp.spring === "coil"}>coil</option></select></div>
        ${setUp.spring === "air" ? html`<div class="knob"><label for="k-chamber">negative spring</label>
          <select id="k-chamber" @change=${(e: Event) => this.change({...setUp, negative: (e.target as HTMLSelectElement).value === "none" ? "none" : "air"}, true)}>
            <option value="air" .selected=${setUp.negative === "air"}>air</option><option value="none" .selected=${setUp.negative === "none"}>none</option></select></div>` : nothing}
        <div class="knob"><label for="k-hold">what is held</label>
          <select id="k-hold" @change=${(e: Event) => this.change(held(setUp, (e.target as HTMLSelectElement).value, at, this.units), true)}>
            <option value="sag" .selected=${setUp.sag !== null}>the sag; ${setUp.spring === "air" ? "pressure" : "preload"} is solved</option>
            <option value="pressure" .selected=${setUp.sag === null}>the ${setUp.spring === "air" ? "pressure" : "preload"}</option></select></div>
        ${setUp.sag === null ? nothing : slider({
          id: "k-sag", label: "sag", low: SAG.low, high: SAG.high, step: SAG.step, value: setUp.sag,
          say: (value) => `${tell(value, 1)} %`,
          to: (value, done) => this.change({...setUp, sag: value}, done, {name: "hold.sag", si: value / 100}),
        })}
        ${this.group("spring", at)}</fieldset>
      <fieldset><legend>Damper</legend>${this.group("damper", at)}</fieldset>
      <fieldset><legend>Rider</legend>${this.group("rider", at)}</fieldset>`;
  }

  private own(setUp: SetUp, key: "height" | "landing" | "length", value: number, done: boolean): void {
    this.bayOf(this.edits).setUp = {...setUp, own: {...setUp.own, [key]: value}};
    const made = this.bayOf(this.edits).setUp;
    // The preview is of the ground as its text now says; some number must be named.
    this.change(made, done, {name: "terrain[1].height", si: made.own.height * 1e-3});
  }

  private group(group: KnobRow["group"], at: Bay): TemplateResult[] {
    const {setUp} = at;
    const settings = new Map((at.bench?.look.settled.settings ?? []).map((row) => [row.name, row]));
    return KNOBS.filter((row) => row.group === group && hasSay(row, setUp)).flatMap((row) => {
      const read = settings.get(row.name);
      const chosen = setUp.values[row.key];
      // What the model refused at once can still be turned back.
      if (!read && chosen === undefined) return [];
      const {low, high} = read ? this.range(row, read) : row;
      const value = chosen ?? (typeof read?.value === "number" ? this.units.say(read.value, row.unit) : low);
      return [slider({
        id: `k-${row.key}`, label: row.label, low, high, step: row.step, value,
        say: (shown) => this.saidOf(row, shown),
        to: (next, done) => this.change({...setUp, values: {...setUp.values, [row.key]: next}}, done,
          {name: row.name, si: this.units.si(next, row.unit)}),
      })];
    });
  }

  private saidOf(row: KnobRow, value: number): string {
    if (row.unit === "psi" && this.bar()) return `${tell(this.units.say(this.units.si(value, "psi"), "bar"), 2)} bar`;
    const unit = row.unit === "1" ? "" : ` ${row.unit.replace("cm3", "cm³")}`;
    return `${tell(value, row.decimals)}${unit}`;
  }

  // What both the slider and the scene allow.
  private range(row: KnobRow, read: Setting): {low: number; high: number} {
    return {
      low: Math.max(row.low, Math.ceil(this.units.say(read.low, row.unit) / row.step - 1e-9) * row.step),
      high: Math.min(row.high, Math.floor(this.units.say(read.high, row.unit) / row.step + 1e-9) * row.step),
    };
  }

  // ---- numbers and files

  private numbers(a: Bench, b: Bench | null): TemplateResult {
    const rows = this.facts.metrics.filter((row) => a.number(row.name) !== null || (b && b.number(row.name) !== null)
      || openOf(this.a, row.name) || (this.b && openOf(this.b, row.name)));
    const first = FIRST_NUMBERS.flatMap((name) => rows.filter((row) => row.name === name));
    const rest = rows.filter((row) => !FIRST_NUMBERS.includes(row.name));
    const table = (list: readonly MetricRow[]) => html`<div class="scroll" tabindex="0" role="region" aria-label="table of numbers"><table>
      <thead><tr><th scope="col">number</th><th scope="col" class="a">${b ? "A" : "value"}</th>${b ? html`<th scope="col" class="b">B</th><th scope="col">B less A</th>` : nothing}<th scope="col">unit</th></tr></thead>
      <tbody>${list.map((row) => html`<tr><th scope="row" title=${row.longName}>${row.label}</th><td class="a">${this.openCell(row, a, this.a)}</td>
        ${b ? html`<td class="b">${this.openCell(row, b, this.b)}</td><td>${this.cell(row, less(b.number(row.name), a.number(row.name)), true)}</td>` : nothing}
        <td>${this.unitOf(row)}</td></tr>`)}</tbody></table></div>`;
    return html`${table(first)}${this.openNote()}<details class="no-print"><summary>All numbers that the model says of this ride</summary>${table(rest)}</details>`;
  }

  // With the band of what is not known, where the number is that of the ride it was made for.
  private openCell(row: MetricRow, bench: Bench, at: Bay | null): string {
    const open = at && bench === at.ridden ? openOf(at, row.name) : undefined;
    return open?.texts[this.unitOf(row) || "1"] ?? this.cell(row, bench.number(row.name));
  }

  private openNote(): TemplateResult | typeof nothing {
    const bays = [this.a, ...(this.b ? [this.b] : [])];
    if (bays.some((at) => at.open === "asked")) return html`<p class="small busy" role="status">Riding what nobody has measured, hundreds of times…</p>`;
    const lines = bays.flatMap((at) => {
      if (at.open === null || at.open === "asked") return [];
      const name = this.b ? `${at === this.a ? "A" : "B"}: ` : "";
      const {draws, failed} = at.open;
      const causes = new Map<string, string[]>();
      for (const row of this.facts.metrics) {
        const mostly = openOf(at, row.name)?.mostly;
        if (mostly && FIRST_NUMBERS.includes(row.name)) causes.set(mostly, [...(causes.get(mostly) ?? []), row.label.replace(/,.*/, "")]);
      }
      return [html`<p class="small" data-open>${name}± and from–to: 95 % of ${draws} draws of what is not measured lie so${failed > 0 ? `, ${failed} of which can't be ridden` : ""}.
        ${[...causes].map(([cause, labels]) => `Mostly from ${cause}: ${labels.join(", ")}.`).join(" ")}${this.b ? " The column B less A is of the numbers as they stand." : ""}</p>`];
    });
    return html`${lines}`;
  }

  private unitOf(row: MetricRow): string {
    if (row.said === "psi" && this.bar()) return "bar";
    return row.said === "1" ? "" : row.said;
  }

  private cell(row: MetricRow, value: number | null, change = false): string {
    if (value === null) return "–";
    const unit = this.unitOf(row) || "1";
    const said = change ? this.units.say(value, unit) - this.units.say(0, unit) : this.units.say(value, unit);
    const text = tell(said, row.said === "psi" && this.bar() ? 2 : row.decimals);
    return change && !text.startsWith("−") && Number(text.replace(/[^\d.]/g, "")) !== 0 ? `+${text}` : text;
  }

  private saving(a: Bench, b: Bench | null): TemplateResult {
    const views = ["ride", "stage", "time", "force", "energy", ...(a.volumes ? ["chambers", "pressure"] : []), ...(b ? ["difference"] : [])];
    const view = views.includes(this.pictured) ? this.pictured : "ride";
    const picture = (format: Format) => html`<button type="button" @click=${() => void this.keepPicture(view, format)}>Picture (${format})</button>`;
    const side = this.edits === "b" && b ? b : a;
    const of = this.bayOf(this.edits);
    const name = b ? ` of ${this.edits.toUpperCase()}` : "";
    const every = side.traces?.every ?? 1;
    const ride = `plunge-ride${b ? `-${this.edits}` : ""}${every > 1 ? `-1-in-${every}` : ""}.csv`;
    return html`<div class="row">
        <label class="row">view <select aria-label="view to save as a picture" @change=${(e: Event) => { this.pictured = (e.target as HTMLSelectElement).value; this.draw(); }}>
          ${views.map((id) => html`<option value=${id} .selected=${view === id}>${id}</option>`)}
        </select></label>
        ${picture("SVG")} ${picture("PNG")}
        <button type="button" @click=${() => save(`plunge-curve${b ? `-${this.edits}` : ""}.csv`, "text/csv", tableText(curveColumns(side)))}>Curve${name} (CSV)</button>
        <button type="button" ?disabled=${!side.traces || side.rough} @click=${() => save(ride, "text/csv", tableText(this.rideColumns(side)))}>Ride${name} (CSV${every > 1 ? `, one sample in ${every}` : ""})</button>
        <button type="button" @click=${() => this.keepScene(of)}>Set-up${name} as a scene file</button>
        <button type="button" @click=${() => window.print()}>Print</button>
      </div>
      ${every > 1 ? html`<p class="small">This ride is long: the page keeps one sample in ${every} of it, and the deepest travel. The numbers are of the whole ride, and so is what the command line writes of the scene file.</p>` : nothing}
      ${this.sceneFile ? html`<p class="small">Saved as plunge-set-up.toml. The command line rides it to the same numbers: <code>plunge ride plunge-set-up.toml</code></p>
        <details><summary>What it says</summary><pre data-scene>${this.sceneFile}</pre></details>` : nothing}
      <p class="small">The address of this page holds the set-up: keep it as a bookmark, or hand it on.</p>`;
  }

  // The figure of the rides is the file that the program writes; other views are as they are shown.
  private async keepPicture(view: string, format: Format): Promise<void> {
    const a = this.a.ridden;
    try {
      if (view === "ride") {
        if (a) await savePicture("plunge-ride", (await this.lab.figure(this.rideFigure(a, {}, true))).svg, format);
        return;
      }
      const found = document.querySelector<SVGSVGElement>(`[data-plot="${CSS.escape(view)}"] svg`);
      if (found) await savePicture(`plunge-${view}`, pictureText(found), format);
    } catch (error) {
      this.a.wrong = `The picture can't be saved: ${error instanceof Error ? error.message : String(error)}`;
      this.draw();
    }
  }

  private keepScene(of: Bay): void {
    this.lab.text(caseOf(of.setUp, this.texts)).then((text) => {
      this.sceneFile = text;
      save("plunge-set-up.toml", "application/toml", text);
      this.draw();
    }, (error: Error) => {
      of.wrong = error.message;
      this.draw();
    });
  }

  private rideColumns(bench: Bench): Column[] {
    const traces = bench.traces;
    if (!traces) return [];
    return [
      {name: "time", unit: "s", values: traces.time},
      ...this.facts.channels.flatMap((row) => {
        const values = traces.channels[row.name];
        return values ? [{name: row.name, unit: row.unit, values}] : [];
      }),
    ];
  }
}

function curveColumns(bench: Bench): Column[] {
  const {curve} = bench.look;
  return [
    {name: "travel", unit: "m", values: curve.x}, {name: "force_slow", unit: "N", values: curve.slow},
    {name: "force_fast", unit: "N", values: curve.fast}, {name: "stiffness_slow", unit: "N m-1", values: curve.stiffness},
    ...(curve.main ? [{name: "main_volume", unit: "m3", values: curve.main.volume}, {name: "main_pressure_slow", unit: "Pa", values: curve.main.pressure}] : []),
    ...(curve.negative ? [{name: "negative_volume", unit: "m3", values: curve.negative.volume}, {name: "negative_pressure_slow", unit: "Pa", values: curve.negative.pressure}] : []),
  ];
}

function spreadOf(preview: Preview): readonly Spread[] {
  return preview.rows.flatMap((row) => {
    const travel = row.failure ? undefined : row.channels["travel"];
    const columns = travelled(timesOf(travel?.length ?? 0, preview.rate), travel);
    return columns ? [{count: row.value, travelled: columns}] : [];
  });
}

const numbers = new WeakMap<Bench, number>();
let lastNumber = 0;

// Tells rides apart.
function numberOf(bench: Bench): number {
  const known = numbers.get(bench) ?? ++lastNumber;
  numbers.set(bench, known);
  return known;
}

// How well the model's book of all energy of the ride closes.
function bookOf(bench: Bench): string {
  const open = Math.abs(bench.traces?.energy["closing_error"] ?? NaN);
  if (Number.isNaN(open)) return "";
  return ` The model's book of all energy of the whole ride closes to ${open > 0 ? `one part in ${tell(Number((1 / open).toPrecision(2)), 0)}` : "the last digit"}.`;
}

function bay(setUp: SetUp): Bay {
  return {setUp, bench: null, ridden: null, open: null, wrong: "", asked: 0, rides: 0, busy: false, spread: [], pause: 0};
}

function openOf(at: Bay, name: string): OpenNumber | undefined {
  return at.open === null || at.open === "asked" ? undefined : at.open.numbers[name];
}

function less(one: number | null, other: number | null): number | null {
  return one === null || other === null ? null : one - other;
}

// Another scene has another fork: what was chosen of this one goes, the rider stays.
function kept(setUp: SetUp): Record<string, number> {
  const rider = setUp.values["rider"];
  return rider === undefined ? {} : {rider};
}

// A coil begins with a rate that carries the rider at the sag of the air spring before it, with a
// little preload.
function coiled(setUp: SetUp, at: Bay): SetUp {
  if (!at.bench) return {...setUp, spring: "coil"};
  const rate = Math.floor(along(at.bench.slow, at.bench.sag) / at.bench.sag * 9.8) / 10;
  return {...setUp, spring: "coil", values: {...setUp.values, rate: knobbed("rate", rate)}};
}

// Holding the pressure begins with what the sag had asked for.
function held(setUp: SetUp, what: string, at: Bay, units: Units): SetUp {
  if (what === "sag") {
    const {pressure: _, ...values} = setUp.values;
    const sag = at.bench ? Math.round(at.bench.sag / at.bench.end * 200) / 2 : FIRST.sag ?? SAG.low;
    return {...setUp, sag: Math.min(SAG.high, Math.max(SAG.low, sag)), values};
  }
  const pressure = at.bench?.look.curve.pressure;
  const values = typeof pressure === "number"
    ? {...setUp.values, pressure: knobbed("pressure", Math.round(units.say(pressure, "psi") * 10) / 10)} : setUp.values;
  return {...setUp, sag: null, values};
}
