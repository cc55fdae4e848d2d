// The worker: holds the model and answers one question after the other.

import {Model, ModelError, sayFault, type Faults, type Ride} from "./model";
import type {Answers, Look, Question, Reply, Traces} from "./lab";
import type {Case} from "./setup";
import {thinned} from "./thin";

const SLOT = 0;
const CURVE_POINTS = 161;

let model: Model | null = null;
let roughChannels: string[] = [];
let loaded = "";

function the(): Model {
  if (!model) throw new ModelError("the model has not been started");
  return model;
}

function refuse(faults: Faults): void {
  if (faults.length > 0) throw new ModelError(faults.map(sayFault).join("\n"), faults);
}

function put(of: Case): void {
  const scene = `${of.path}\n${of.text}`;
  if (scene !== loaded) {
    loaded = "";
    refuse(the().load(SLOT, of.text, of.path));
    loaded = scene;
  }
  refuse(the().set(SLOT, of.set, of.hold));
}

function looked(): Look {
  return {settled: the().settled(SLOT), curve: the().curve(SLOT, CURVE_POINTS), ground: the().ground(SLOT)};
}

function traces(ride: Ride): Traces {
  const {time, channels, every} = thinned(ride.time, ride.channels);
  return {
    rough: false, time, every, channels, metrics: ride.metrics, energy: ride.energy, failure: ride.failure,
  };
}

const METRICS = ["travel_max", "travel_use", "fork_force_max", "axle_force_max", "ground_force_max", "metal_contacts"];

async function answer(question: Question): Promise<Answers[keyof Answers]> {
  switch (question.ask) {
    case "start": {
      model = await Model.start(question.wasm);
      const channels = model.channels();
      roughChannels = channels.filter((row) => row.inPreview).map((row) => row.name);
      return {
        version: model.version(), scenes: model.scenes(), units: model.units(), channels,
        metrics: model.metricRows(),
      };
    }
    case "look":
      put(question.of);
      return looked();
    case "ride":
      put(question.of);
      return traces(the().ride(SLOT));
    case "rough": {
      put(question.of);
      const look = looked();
      const {key, value} = question.varied;
      const preview = the().preview(SLOT, key, [value], METRICS, roughChannels, true);
      const row = preview.rows[0];
      if (!row) return {look, traces: null};
      refuse(row.faults);
      if (row.failure) throw new ModelError(row.failure);
      const length = Object.values(row.channels)[0]?.length ?? 0;
      const time = Float64Array.from({length}, (_, k) => k / preview.rate);
      const thin = thinned(time, row.channels);
      return {
        look,
        traces: {rough: true, time: thin.time, every: thin.every, channels: thin.channels, metrics: row.metrics, energy: {}, failure: ""},
      };
    }
    case "row":
      put(question.of);
      return the().preview(SLOT, question.key, question.values, question.metrics, []);
    case "text":
      put(question.of);
      return the().sceneText(SLOT);
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
  self.postMessage(reply);
};
