// What is not known leaves open of a ride's numbers. A model of its own rides the set-up with hundreds
// of draws of what nobody has measured, so that the page's own model stays free for whoever turns a
// knob; where the set-up changes meanwhile that model is ended.

import type {Lab} from "./lab";
import type {Bands} from "./model";
import type {Case} from "./setup";

type Metrics = Readonly<Record<string, number | null>>;

interface Wanted {
  readonly side: string;
  readonly of: Case;
  readonly metrics: Metrics;
  readonly then: (bands: Bands | null, wrong: string) => void;
}

export class OpenNumbers {
  private lab: Promise<Lab> | null = null;
  private now: Wanted | null = null;
  private readonly later = new Map<string, Wanted>();

  constructor(private readonly made: () => Promise<Lab>) {}

  // What was asked for the same side before is never answered.
  ask(wanted: Wanted): void {
    this.drop(wanted.side);
    this.later.set(wanted.side, wanted);
    this.next();
  }

  drop(side: string): void {
    this.later.delete(side);
    if (this.now?.side !== side) return;
    this.now = null;
    this.lab?.then((lab) => lab.end(), () => undefined);
    this.lab = null;
    this.next();
  }

  private next(): void {
    const first = this.later.values().next();
    if (this.now || first.done) return;
    const wanted = first.value;
    this.later.delete(wanted.side);
    this.now = wanted;
    this.lab ??= this.made();
    const told = (bands: Bands | null, wrong: string) => {
      if (this.now !== wanted) return;
      this.now = null;
      wanted.then(bands, wrong);
      this.next();
    };
    this.lab.then((lab) => lab.bands(wanted.of, wanted.metrics))
      .then((bands) => told(bands, ""), (error: Error) => told(null, error.message));
  }
}
