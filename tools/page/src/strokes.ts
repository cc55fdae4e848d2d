// Where the work of each stroke of a ride goes, by trapezia over the travel at every sample.

type Trace = Float64Array | undefined;

// At each sample since the stroke that it is in began, J.
export interface Strokes {
  readonly into: Float64Array; // that the stroke has put into the fork
  readonly spring: Float64Array;
  readonly lost: Float64Array; // damper and friction
  readonly floor: Float64Array; // bumper and metal
  readonly begun: Float64Array; // when, s
}

const PARTS = ["spring", "lost", "floor"] as const;

// `full`: full travel, m. A ride of which the channels do not say all has none.
export function strokesOf(time: Float64Array, channels: Readonly<Record<string, Float64Array>>, full: number): Strokes | null {
  const {travel, air_force: air, coil_force: coil, damper_force: damper, friction_force: friction, bumper_force: bumper, metal_force: metal} = channels;
  if (!travel || !damper || !friction || !bumper || !metal) return null;
  const count = travel.length;
  const begins = beginnings(travel, full / 12);
  const sums = {into: new Float64Array(count), spring: new Float64Array(count), lost: new Float64Array(count), floor: new Float64Array(count)};
  const forces: Readonly<Record<(typeof PARTS)[number], readonly Trace[]>> = {spring: [air, coil], lost: [damper, friction], floor: [bumper, metal]};
  for (let i = 1; i < count; ++i) {
    const way = (travel[i] ?? 0) - (travel[i - 1] ?? 0);
    for (const part of PARTS) {
      const mean = forces[part].reduce((sum, trace) => sum + (trace ? ((trace[i - 1] ?? 0) + (trace[i] ?? 0)) / 2 : 0), 0);
      sums[part][i] = (sums[part][i - 1] ?? 0) + mean * way;
    }
    sums.into[i] = PARTS.reduce((sum, part) => sum + (sums[part][i] ?? 0), 0);
  }
  const since = (sum: Float64Array) => sum.map((value, i) => value - (sum[begins[i] ?? 0] ?? 0));
  return {
    into: since(sums.into), spring: since(sums.spring), lost: since(sums.lost), floor: since(sums.floor),
    begun: Float64Array.from(begins, (at) => time[at] ?? 0),
  };
}

// Where the stroke of each sample began: where the travel is least before it grows by more than
// `turn`; what is less is a shiver within it.
function beginnings(travel: Float64Array, turn: number): Uint32Array {
  const begins = new Uint32Array(travel.length);
  let least = 0;
  let most = 0;
  let grows = false;
  let begun = 0;
  for (let i = 1; i < travel.length; ++i) {
    const x = travel[i] ?? 0;
    if (grows) {
      most = Math.max(most, x);
      if (most - x > turn) {
        grows = false;
        least = i;
      }
    } else {
      if (x < (travel[least] ?? 0)) least = i;
      if (x - (travel[least] ?? 0) > turn) {
        grows = true;
        begun = least;
        most = x;
        // Its first part was not yet known to belong to it.
        begins.fill(begun, begun, i);
      }
    }
    begins[i] = begun;
  }
  return begins;
}
