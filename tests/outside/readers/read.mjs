// Every variable of a file as h5wasm reads it, for tests/outside/readers_test.py, as JSON.
import h5wasm from "h5wasm/node";

const [path, most] = process.argv.slice(2);
await h5wasm.ready;
const file = new h5wasm.File(path, "r");
const found = {};
const plain = (value) => (typeof value === "number" && Number.isNaN(value) ? "NaN" : value);
const walk = (group, prefix) => {
  for (const name of group.keys()) {
    const item = group.get(name);
    if (item instanceof h5wasm.Group) {
      walk(item, `${prefix}${name}/`);
      continue;
    }
    const size = item.shape.reduce((product, axis) => product * axis, 1);
    found[prefix + name] = {
      units: item.attrs.units?.value ?? null,
      long_name: item.attrs.long_name?.value ?? null,
      values: size > Number(most) ? null : Array.from(item.value, plain),
    };
  }
};
walk(file, "");
console.log(JSON.stringify({ found, history: file.attrs.history.value }));
file.close();
