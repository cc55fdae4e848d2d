// Long rides have more samples than a page can draw: every n-th is kept, and among those that are
// left out the deepest travel.

const MOST = 12000;

// Where a trace is largest; of an empty one 0.
export function deepestOf(travel: Float64Array): number {
  let deepest = 0;
  for (let i = 1; i < travel.length; ++i) if ((travel[i] ?? 0) > (travel[deepest] ?? 0)) deepest = i;
  return deepest;
}

type Lists = Readonly<Record<string, Float64Array>>;

// The numbers of the samples that are kept. `every`: one in so many; 1: all are.
export function keptOf(travel: Float64Array | undefined, count: number): {kept: readonly number[] | null; every: number} {
  const stride = Math.ceil(count / MOST);
  if (stride <= 1) return {kept: null, every: 1};
  const kept: number[] = [];
  const deepest = travel ? deepestOf(travel) : 0;
  for (let i = 0; i < count; ++i) if (i % stride === 0 || i === deepest || i === count - 1) kept.push(i);
  return {kept, every: stride};
}

// Of each list the kept samples.
export function takenOf<L extends Lists>(lists: L, kept: readonly number[] | null): L {
  if (!kept) return lists;
  const taken = Object.entries(lists).map(([name, values]) => [name, Float64Array.from(kept, (i) => values[i] ?? NaN)]);
  return Object.fromEntries(taken) as L;
}
