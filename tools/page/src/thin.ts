// Long rides have more samples than a page can draw: every n-th is kept, and among those that are
// left out the deepest travel.

const MOST = 12000;

// Where a trace is largest; of an empty one 0.
export function deepestOf(travel: Float64Array): number {
  let deepest = 0;
  for (let i = 1; i < travel.length; ++i) if ((travel[i] ?? 0) > (travel[deepest] ?? 0)) deepest = i;
  return deepest;
}

type Channels = Readonly<Record<string, Float64Array>>;

// `every`: one in so many samples is kept; 1: all are.
export function thinned(time: Float64Array, channels: Channels): {time: Float64Array; channels: Channels; every: number} {
  const stride = Math.ceil(time.length / MOST);
  if (stride <= 1) return {time, channels, every: 1};
  const kept: number[] = [];
  const deepest = channels["travel"] ? deepestOf(channels["travel"]) : 0;
  for (let i = 0; i < time.length; ++i) if (i % stride === 0 || i === deepest || i === time.length - 1) kept.push(i);
  const take = (values: Float64Array) => Float64Array.from(kept, (i) => values[i] ?? NaN);
  return {
    time: take(time),
    channels: Object.fromEntries(Object.entries(channels).map(([name, values]) => [name, take(values)])),
    every: stride,
  };
}
