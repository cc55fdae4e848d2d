// The model in its worker, as the page asks it: every question is a promise. Of previews only the
// newest one waits; what it replaces is never answered.

import type {Case} from "./setup";
import type {
  Bands, ChannelRow, Curve, Fault, Ground, MetricRow, Picture, PictureLook, Preview, Settled, ShippedScene, Unit,
} from "./model";
import type {Strokes} from "./strokes";

// What the model says of itself, once.
export interface Facts {
  readonly version: string;
  readonly scenes: readonly ShippedScene[];
  readonly units: readonly Unit[];
  readonly channels: readonly ChannelRow[];
  readonly metrics: readonly MetricRow[];
}

// A ride as the page draws it; of a preview the channels that lanes give.
export interface Traces {
  readonly time: Float64Array;
  readonly every: number; // one in so many samples is here
  readonly channels: Readonly<Record<string, Float64Array>>;
  readonly metrics: Readonly<Record<string, number | null>>;
  readonly energy: Readonly<Record<string, number | null>>;
  readonly strokes: Strokes | null; // of every sample of the ride, at those that are here
  readonly ground: Ground | null; // that the ride went over; null: a preview
  readonly failure: string;
}

export interface Look {
  readonly settled: Settled;
  readonly curve: Curve;
}

// Of samples at that rate [s].
export function timesOf(count: number, rate: number): Float64Array {
  return new Float64Array(count).map((_, k) => k / rate);
}

export interface Varied {
  readonly key: string; // dotted, or "hold.sag"
  readonly value: number; // SI
}

// Where the model holds what it is asked of. The rides of the room's two set-ups stay in theirs for
// its figure; all else is asked in a third.
export const SLOTS = {a: 0, b: 1, other: 2} as const;

export type Slot = (typeof SLOTS)[keyof typeof SLOTS];

// Rides side by side as the program draws them, from the slots that they were last ridden in.
export interface RideFigure {
  readonly slots: readonly Slot[];
  readonly labels: readonly string[];
  readonly title: string;
  readonly bar: boolean; // pressures
  readonly look: PictureLook;
  readonly file: boolean; // a file, not a part of the page
}

export type Question =
  | {readonly ask: "start"; readonly module: WebAssembly.Module}
  | {readonly ask: "look"; readonly of: Case}
  | {readonly ask: "ride"; readonly of: Case; readonly slot: Slot}
  | {readonly ask: "figure"; readonly of: RideFigure}
  | {readonly ask: "rough"; readonly of: Case; readonly varied: Varied; readonly counts: readonly number[] | null}
  | {readonly ask: "row"; readonly of: Case; readonly key: string; readonly values: readonly number[]; readonly metrics: readonly string[]; readonly channels: readonly string[]}
  | {readonly ask: "bands"; readonly of: Case; readonly metrics: Readonly<Record<string, number | null>>}
  | {readonly ask: "text"; readonly of: Case};

export interface Answers {
  start: Facts;
  look: Look;
  ride: Traces;
  figure: Picture;
  rough: {readonly look: Look; readonly traces: Traces | null; readonly spread: Preview | null}; // of the spread the travel
  row: Preview;
  bands: Bands | null;
  text: string;
}

export type Reply =
  | {readonly id: number; readonly answer: unknown}
  | {readonly id: number; readonly error: string; readonly faults: readonly Fault[]};

export class Refused extends Error {
  constructor(message: string, readonly faults: readonly Fault[]) {
    super(message);
  }
}

interface Waiting {
  readonly answer: (value: unknown) => void;
  readonly refuse: (error: Error) => void;
}

// Previews that the worker has before it: it rides the next one while the page draws the last.
const AHEAD = 2;

export class Lab {
  private readonly waiting = new Map<number, Waiting>();
  private next = 1;
  private roughs = 0; // under way
  private dead: Error | null = null;
  private roughNext: (() => void) | null = null;

  constructor(private readonly worker: Worker) {
    worker.onmessage = (event: MessageEvent<Reply>) => {
      const reply = event.data;
      const waiting = this.waiting.get(reply.id);
      this.waiting.delete(reply.id);
      if (!waiting) return;
      if ("error" in reply) waiting.refuse(new Refused(reply.error, reply.faults));
      else waiting.answer(reply.answer);
    };
    worker.onerror = (event) => {
      const error = new Refused(`${event.message || "the model's worker could not be started"}; reload the page`, []);
      this.dead = error;
      for (const waiting of this.waiting.values()) waiting.refuse(error);
      this.waiting.clear();
    };
  }

  private ask<K extends Question["ask"]>(question: Question & {ask: K}): Promise<Answers[K]> {
    if (this.dead) return Promise.reject(this.dead);
    const id = this.next++;
    return new Promise((answer, refuse) => {
      this.waiting.set(id, {answer: answer as (value: unknown) => void, refuse});
      this.worker.postMessage({id, question});
    });
  }

  start(module: WebAssembly.Module): Promise<Facts> {
    return this.ask({ask: "start", module});
  }
  look(of: Case): Promise<Look> {
    return this.ask({ask: "look", of});
  }
  ride(of: Case, slot: Slot): Promise<Traces> {
    return this.ask({ask: "ride", of, slot});
  }
  figure(of: RideFigure): Promise<Picture> {
    return this.ask({ask: "figure", of});
  }
  text(of: Case): Promise<string> {
    return this.ask({ask: "text", of});
  }
  // Rides that differ in one number.
  row(of: Case, key: string, values: readonly number[], metrics: readonly string[], channels: readonly string[] = []): Promise<Preview> {
    return this.ask({ask: "row", of, key, values, metrics, channels});
  }

  bands(of: Case, metrics: Readonly<Record<string, number | null>>): Promise<Bands | null> {
    return this.ask({ask: "bands", of, metrics});
  }
  // Whatever is under way is never answered.
  end(): void {
    this.worker.terminate();
  }

  // The newest of these that are asked while AHEAD are under way is asked next, the others are dropped.
  // With `counts`, this many spacers among them, the same set-up is ridden with each of these.
  rough(of: Case, varied: Varied, counts: readonly number[] | null, then: (answer: Answers["rough"]) => void, wrong: (error: Error) => void): void {
    const go = () => {
      ++this.roughs;
      this.ask({ask: "rough", of, varied, counts}).then(then, wrong).finally(() => {
        --this.roughs;
        const next = this.roughNext;
        this.roughNext = null;
        next?.();
      });
    };
    if (this.roughs >= AHEAD) this.roughNext = go;
    else go();
  }
  dropRough(): void {
    this.roughNext = null;
  }
}
