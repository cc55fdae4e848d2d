// The worker: holds the model and answers one question after the other.

import {Model, ModelError, sayFault, type Faults, type Ground, type Preview, type Ride} from "./model";
import {SLOTS, timesOf, type Answers, type Look, type Question, type Reply, type Slot, type Traces} from "./lab";
import type {Case} from "./setup";
import {strokesOf} from "./strokes";
import {keptOf, takenOf} from "./thin";

const CURVE_POINTS = 161;
const SPACERS = "fork.spacers";

let model: Model | null = null;
let roughChannels: string[] = [];
const loaded = new Map<Slot, string>();

function the(): Model {
  if (!model) throw new ModelError("the model has not been started");
  return model;
}

function refuse(faults: Faults): void {
  if (faults.length > 0) throw new ModelError(faults.map(sayFault).join("\n"), faults);
}

function put(of: Case, slot: Slot): void {
  const scene = `${of.path}\n${of.text}`;
  if (scene !== loaded.get(slot)) {
    loaded.delete(slot);
    refuse(the().load(slot, of.text, of.path));
    loaded.set(slot, scene);
  }
  refuse(the().set(slot, of.set, of.hold));
}

function looked(slot: Slot): Look {
  return {settled: the().settled(slot), curve: the().curve(slot, CURVE_POINTS)};
}

// Energies are added up over every sample, before any is left out.
function traces(ride: Pick<Ride, "time" | "channels" | "metrics" | "energy" | "failure">, full: number, ground: Ground | null): Traces {
  const {time, channels} = ride;
  const strokes = strokesOf(time, channels, full);
  const {kept, every} = keptOf(channels["travel"], time.length);
  return {
    time: takenOf({time}, kept).time, every, channels: takenOf(channels, kept),
    strokes: strokes && takenOf({...strokes}, kept), metrics: ride.metrics, energy: ride.energy, failure: ride.failure, ground,
  };
}

function travelOf(preview: Preview): Preview {
  return {...preview, rows: preview.rows.map((row) => ({...row, channels: {travel: row.channels["travel"] ?? new Float64Array()}}))};
}

// What takes memory of its own: it is handed over, not copied.
function buffersOf(value: unknown, found: Set<ArrayBuffer> = new Set()): Set<ArrayBuffer> {
  if (value instanceof Float64Array) found.add(value.buffer as ArrayBuffer);
  else if (typeof value === "object" && value !== null) for (const part of Object.values(value)) buffersOf(part, found);
  return found;
}

const METRICS = ["travel_max", "travel_use", "fork_force_max", "axle_force_max", "ground_force_max", "metal_contacts"];

async function answer(question: Question): Promise<Answers[keyof Answers]> {
  switch (question.ask) {
    case "start": {
      model = await Model.start(question.module);
      const channels = model.channels();
      roughChannels = channels.filter((row) => row.inPreview).map((row) => row.name);
      return {
        version: model.version(), scenes: model.scenes(), units: model.units(), channels,
        metrics: model.metricRows(),
      };
    }
    case "look":
      put(question.of, SLOTS.other);
      return looked(SLOTS.other);
    case "ride": {
      put(question.of, question.slot);
      const full = the().curve(question.slot, 2).travel;
      return traces(the().ride(question.slot), full, the().ground(question.slot));
    }
    case "figure": {
      const {slots, labels, title, bar, look, file} = question.of;
      return the().rideFigure(slots, labels, title, bar, look, file);
    }
    case "rough": {
      put(question.of, SLOTS.other);
      const look = looked(SLOTS.other);
      const {varied, counts} = question;
      const now = look.settled.settings.find((setting) => setting.name === SPACERS)?.value;
      const preview = counts ? the().preview(SLOTS.other, SPACERS, counts, METRICS, roughChannels, true)
        : the().preview(SLOTS.other, varied.key, [varied.value], METRICS, roughChannels, true);
      const row = counts ? preview.rows.find((each) => each.value === now) : preview.rows[0];
      if (!row) return {look, traces: null, spread: null};
      refuse(row.faults);
      if (row.failure) throw new ModelError(row.failure);
      const length = Object.values(row.channels)[0]?.length ?? 0;
      const time = timesOf(length, preview.rate);
      const ride = {time, channels: row.channels, metrics: row.metrics, energy: {}, failure: ""};
      return {look, traces: traces(ride, look.curve.travel, null), spread: counts && travelOf(preview)};
    }
    case "row":
      put(question.of, SLOTS.other);
      return the().preview(SLOTS.other, question.key, question.values, question.metrics, question.channels);
    case "bands":
      put(question.of, SLOTS.other);
      return the().bands(SLOTS.other, question.metrics);
    case "text":
      put(question.of, SLOTS.other);
      return the().sceneText(SLOTS.other);
  }
}

self.onmessage = async (event: MessageEvent<{id: number; question: Question}>) => {
  const {id, question} = event.data;
  let reply: Reply;
  try {
    reply = {id, answer: await answer(question)};
  } catch (error) {
    const faults = error instanceof ModelError ? error.faults : [];
    reply = {id, error: error instanceof Error ? error.message : String(error), faults};
  }
  self.postMessage(reply, {transfer: [...buffersOf(reply)]});
};
