// The page: reads the address, starts the model in its worker, draws.

import {html, nothing, render, type TemplateResult} from "lit-html";
import {Figures} from "./figures";
import {Lab, type Facts} from "./lab";
import {Lesson} from "./lesson";
import {Model} from "./model";
import {FreeRoom} from "./room";
import {AddressError, FIRST, readRoom, sceneName, type Room} from "./setup";
import {OpenNumbers} from "./open";
import {Sheets, cautions} from "./sheets";
import {MeasuredSizes} from "./sizes";
import {Course, STEPS} from "./steps";

type Place =
  | {readonly at: "lesson"} | {readonly at: "step"; readonly index: number} | {readonly at: "room"}
  | {readonly at: "sheet"; readonly teacher: boolean};

type Look = "as the system" | "light" | "dark";

const root = document.getElementById("page");
if (!root) throw new Error("the page has no place to draw in");

let place: Place = {at: "lesson"};
let message = "";
let broken = "";
let look: Look = "as the system";
let projector = false;
let inBar = false;
let written = ""; // the address as the page wrote it itself
let facts: Facts | null = null;
let room: FreeRoom | null = null;
let lesson: Lesson | null = null;
let sheets: Sheets | null = null;
let lab: Lab | null = null;
let open: OpenNumbers | null = null;

let due = false;
function draw(): void {
  if (due) return;
  due = true;
  requestAnimationFrame(() => {
    due = false;
    render(page(), root as HTMLElement);
    sizes.watch(root as HTMLElement);
  });
}

const sizes = new MeasuredSizes(draw);

function text(id: string): string {
  return document.getElementById(id)?.textContent?.trim() ?? "";
}

async function unpacked(packed: string): Promise<ArrayBuffer> {
  const bytes = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}

let script = ""; // address of what every worker runs

// A model in a worker of its own.
async function started(module: WebAssembly.Module): Promise<{lab: Lab; facts: Facts}> {
  script ||= URL.createObjectURL(new Blob([text("worker")], {type: "text/javascript"}));
  const made = new Lab(new Worker(script));
  return {lab: made, facts: await made.start(module)};
}

async function start(): Promise<void> {
  // Two instances of one module: the worker's rides, the page's own draws figures at once.
  const module = await WebAssembly.compile(await unpacked(text("model")));
  const [made, drawer] = await Promise.all([started(module), Model.start(module)]);
  ({lab, facts} = made);
  sizes.drawBy(new Figures(drawer));
  open = new OpenNumbers(async () => (await started(module)).lab);
  const course = new Course(lab, facts, sizes, () => inBar, draw);
  lesson = new Lesson(course, draw);
  sheets = new Sheets(course, draw);
  go();
}

function readAddress(): {place: Place; room: Room | null} {
  const fragment = location.hash.replace(/^#/, "");
  if (fragment === "" || fragment === "lesson") return {place: {at: "lesson"}, room: null};
  if (fragment === "sheet-class") return {place: {at: "sheet", teacher: false}, room: null};
  if (fragment === "sheet-teacher") return {place: {at: "sheet", teacher: true}, room: null};
  if (fragment === "room") return {place: {at: "room"}, room: null};
  const step = /^step-(\d{1,3})$/.exec(fragment);
  if (step) {
    const index = Number(step[1]) - 1;
    if (index >= 0 && index < STEPS.length) return {place: {at: "step", index}, room: null};
    throw new AddressError(`there is no step ${index + 1}: they go from 1 to ${STEPS.length}`);
  }
  if (fragment.startsWith("room?")) {
    const scenes = facts?.scenes.map((scene) => sceneName(scene.path)) ?? [];
    return {place: {at: "room"}, room: readRoom(fragment.slice(5), scenes)};
  }
  throw new AddressError("nothing on this page is at that address");
}

// Goes to what the address says; an address that says nothing sound leads to a message.
function go(): void {
  if (!facts || !lab || !open) return;
  message = "";
  let wanted: Room | null = null;
  try {
    const read = readAddress();
    place = read.place;
    wanted = read.room;
  } catch (error) {
    if (!(error instanceof AddressError)) throw error;
    message = `The address can't be read: ${error.message}.`;
    place = location.hash.startsWith("#room") ? {at: "room"} : {at: "lesson"};
  }
  if (place.at === "room") {
    if (!room) {
      room = new FreeRoom(lab, open, facts, sizes, draw, () => inBar, writeAddress, wanted ?? {a: FIRST, b: null});
      room.refresh();
    } else if (wanted) {
      room.show(wanted);
    }
    // The address holds what is shown, unless it is one that can't be read.
    if (!message) writeAddress(room.here());
  } else {
    room?.rest();
  }
  draw();
}

function writeAddress(address: string): void {
  written = address;
  history.replaceState(null, "", address);
}

addEventListener("hashchange", () => {
  if (location.hash !== written || place.at !== "room" || message) {
    go();
    scrollTo(0, 0);
    document.querySelector<HTMLElement>("main")?.focus({preventScroll: true});
  }
});

function setLook(next: Look): void {
  look = next;
  document.documentElement.toggleAttribute("data-light", look === "light");
  document.documentElement.toggleAttribute("data-dark", look === "dark");
  draw();
}

function page(): TemplateResult {
  const here = (wanted: Place["at"]) => place.at === wanted || wanted === "lesson" && place.at === "step" ? "page" : nothing;
  return html`
    <a class="skip" href="#main" @click=${(e: Event) => { e.preventDefault(); document.getElementById("main")?.focus(); }}>to the content</a>
    <header class="top"><a class="title" href="#lesson">plunge: an air spring to learn from</a>
      <nav aria-label="parts of the page"><a href="#lesson" aria-current=${here("lesson")}>Lesson</a><a href="#room" aria-current=${here("room")}>Free room</a>
        <a href="#sheet-class" aria-current=${here("sheet")}>Sheets</a></nav>
      <div class="looks">
        <button type="button" aria-pressed=${projector} @click=${() => { projector = !projector; document.documentElement.toggleAttribute("data-projector", projector); if (projector) room?.fold(); draw(); requestAnimationFrame(() => sizes.measure()); }}>projector</button>
        <button type="button" aria-pressed=${inBar} @click=${() => { inBar = !inBar; lesson?.otherUnit(inBar ? "psi" : "bar", inBar ? "bar" : "psi"); sheets?.forget(); draw(); }}>pressure in bar</button>
        <select aria-label="light or dark" @change=${(e: Event) => setLook((e.target as HTMLSelectElement).value as Look)}>
          ${(["as the system", "light", "dark"] as const).map((row) => html`<option .selected=${look === row}>${row}</option>`)}</select>
      </div></header>
    <main id="main" tabindex="-1">
      ${message ? html`<div class="message" role="alert"><p>${message}</p><button type="button" @click=${() => { message = ""; draw(); }}>Put away</button></div>` : nothing}
      ${broken ? html`<div class="message" role="alert"><p>${broken}</p></div>` : content()}
    </main>
    <footer>${place.at === "sheet" && place.teacher && sheets && !broken ? nothing : cautions()}
      <p class="small">${facts ? `${facts.version}. ` : nothing}This page works from the disk alone and sends nothing. The geometry of the drawings is schematic; travel, wheel and ground are to scale.</p>
      <details class="no-print"><summary>Licences of what is inside</summary><pre>${text("licences")}</pre></details></footer>`;
}

function content(): TemplateResult {
  if (!lesson || !sheets) return html`<p class="busy" role="status">The model is starting…</p>`;
  switch (place.at) {
    case "lesson": return lesson.contents();
    case "step": return lesson.view(place.index);
    case "room": return room ? room.view() : html`${nothing}`;
    case "sheet": return sheets.view(place.teacher);
  }
}

draw();
start().catch((error: unknown) => {
  broken = `The model can't run in this browser: ${error instanceof Error ? error.message : String(error)}`;
  draw();
});
