// Uses every method of tools/page/src/model.ts as a page does: node use_model.mjs MODEL.mjs MODEL.wasm.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [script, wasm] = process.argv.slice(2);
const { Model, ModelError, sayFault } = await import(pathToFileURL(script).href);
const model = await Model.start(await WebAssembly.compile(readFileSync(wasm)));
const near = (a, b, within, what) => assert.ok(Math.abs(a - b) <= within, `${what}: ${a} and ${b}`);

// What it brings along.
assert.match(model.version(), /^plunge \d+\.\d+\.\d+, commit .*wasm32$/);
const scenes = model.scenes();
const drop = scenes.find((scene) => scene.path === "scenes/drop-to-landing.toml");
assert.ok(scenes.length >= 9 && drop.name.startsWith("Kestrel Hollow") && drop.text.includes("[hold]"));
assert.ok(model.files().some((file) => file.path === "terrain/rock-garden.csv" && file.text.length > 100));
assert.ok(model.choices().some((choice) => choice.name === "fork.spring" && choice.values.length === 2));
const spacers = model.parameters().find((parameter) => parameter.name === "fork.spacers");
assert.deepEqual([spacers.unit, spacers.step, spacers.low], ["1", 1, 0]);
const psi = model.units().find((unit) => unit.name === "psi");
near((72 * psi.numerator) / psi.denominator + psi.offset, 496422.52, 1, "psi"); // 6894.757 Pa each
const channels = model.channels();
const metrics = model.metricRows();
assert.ok(channels.find((row) => row.name === "travel").inPreview);
assert.equal(metrics.find((row) => row.name === "travel_max").unit, "m");

// Faults have a place; the slot keeps what it held.
assert.throws(() => model.ride(0), (error) => error instanceof ModelError && error.faults[0].key === "slot");
assert.deepEqual(model.load(0, drop.text, drop.path), []);
const [fault] = model.load(0, drop.text.replace("22 %", "95 %"), drop.path);
assert.equal(fault.file, "scenes/drop-to-landing.toml");
assert.equal(fault.line, drop.text.split("\n").findIndex((line) => line.includes("22 %")) + 1);
assert.equal(fault.key, "hold.sag");
assert.match(sayFault(fault), /^scenes\/drop-to-landing\.toml:\d+:\d+: hold\.sag = "95 %": must be /);
assert.equal(model.set(0, { "fork.spacers": "40" })[0].file, "--set");
assert.equal(model.set(0, { "fork.spacer": "1" })[0].key, "fork.spacer");
near(model.settled(0).hold.sag, 0.22, 1e-15, "sag to hold");

// Overrides and holds.
const solved = model.settled(0).solved;
assert.equal(solved.name, "fork.pressure");
assert.deepEqual(model.set(0, { "fork.spacers": "2" }, 0.25), []);
assert.ok(model.settled(0).solved.value < solved.value);
const clicks = model.settled(0).settings.find((setting) => setting.name === "fork.compression.clicks");
assert.ok(clicks.value === 12 && clicks.high >= 12 && clicks.step === 1);
assert.equal(model.settled(0).words["fork.spring"], "air");
assert.deepEqual(model.set(0, { "fork.pressure": "80 psi" }), []);
assert.equal(model.settled(0).solved, null);
assert.equal(model.settled(0).notes.length, 1);
assert.deepEqual(model.set(0, { "fork.pressure": "80 psi" }, "pressure"), []);
assert.deepEqual(model.settled(0).notes, []);
assert.deepEqual(model.set(0, {}), []);

// Files of one's own.
model.put("forks/own.toml", model.files().find((file) => file.path === "forks/sorrel-120.toml").text);
assert.deepEqual(model.load(1, drop.text.replace("teasel-150", "own"), drop.path), []);
near(model.curve(1, 3).travel, 0.12, 1e-12, "travel of the other fork");

// Curves, a damper, the ground.
const curve = model.curve(0, 101);
assert.ok(curve.x instanceof Float64Array && curve.x.length === 101);
near(curve.sag, 0.22 * curve.travel, 1e-9, "sag");
assert.ok(curve.sagLeast < curve.sag && curve.sag < curve.sagMost && curve.breakaway > 0);
for (let i = 1; i < 101; ++i) assert.ok(curve.slow[i] > curve.slow[i - 1]);
near(curve.stiffness[50], (curve.slow[51] - curve.slow[49]) / (curve.x[51] - curve.x[49]), 200, "stiffness");
// Both chambers are full of air at one temperature: p V stays outside of the transfer window.
const filled = (i) => curve.main.pressure[i] * curve.main.volume[i];
near(filled(100) / filled(60), 1, 1e-12, "gas of the main chamber");
assert.ok(curve.negative.volume[100] > curve.negative.volume[0]);
const { compression } = model.damper(0);
assert.equal(compression.speed[0], 0);
const [adjuster] = compression.adjusters;
assert.deepEqual(adjuster.forces[adjuster.asSet - adjuster.first], compression.force);
const ground = model.ground(0);
assert.ok(ground.distance.length === ground.elevation.length && ground.length > 10);
assert.ok(Math.min(...ground.wheelHeight) < -0.5 && ground.wheelDistance.length === ground.wheelHeight.length);

// A ride; arrays are the caller's own and outlive the next question.
const ride = model.ride(0);
assert.deepEqual(Object.keys(ride.channels), channels.map((row) => row.name));
const { travel } = ride.channels;
const kept = travel.slice();
assert.equal(travel.buffer.byteLength, 8 * ride.time.length);
assert.equal(ride.failure, "");
assert.ok(Math.abs(ride.energy.closing_error) < 1e-3 && ride.solver.steps > 100);
assert.ok(ride.located.some((event) => event.what === "lift_off"));
near(Math.max(...travel), ride.metrics.travel_max, 1e-4, "travel used");

// A preview rides the same in lanes, within what a sweep allows: 0.1 mm of travel, 1 % of forces.
const names = ["travel_max", "fork_force_max", "lift_offs"];
const preview = model.preview(0, "fork.spacers", [0, 1, 2, 3, 40], names, ["travel"]);
assert.deepEqual(preview.rows.map((row) => row.label).slice(0, 2), ["0 spacers", "1 spacer"]);
assert.deepEqual(preview.rows.map((row) => row.faults.length), [0, 0, 0, 0, 1]);
assert.ok(preview.rows.slice(0, 4).every((row) => row.origin !== "failed"));
assert.ok(preview.rows.some((row) => row.origin === "lanes"));
for (const row of preview.rows.slice(0, 4)) {
  assert.deepEqual(model.set(1, {}), []);
  assert.deepEqual(model.load(1, drop.text, drop.path), []);
  assert.deepEqual(model.set(1, { "fork.spacers": String(row.value) }), []);
  const alone = model.ride(1);
  near(row.metrics.travel_max, alone.metrics.travel_max, 1e-4, row.label);
  near(row.metrics.fork_force_max / alone.metrics.fork_force_max, 1, 0.01, row.label);
  assert.equal(row.metrics.lift_offs, alone.metrics.lift_offs);
  const rate = 1 / (alone.time[1] - alone.time[0]);
  for (const [k, value] of row.channels.travel.entries()) {
    const at = Math.round((k * rate) / preview.rate);
    if (at < alone.time.length) near(value, alone.channels.travel[at], 1e-4, `${row.label} at sample ${k}`);
  }
}
// At a glance it is near that.
const glances = model.preview(0, "fork.spacers", [0, 1, 2, 3, 40], names, ["travel"], true);
for (const [k, row] of glances.rows.slice(0, 4).entries()) {
  near(row.metrics.travel_max, preview.rows[k].metrics.travel_max, 2e-4, row.label);
  near(row.metrics.fork_force_max / preview.rows[k].metrics.fork_force_max, 1, 0.02, row.label);
  assert.equal(row.channels.travel.length, preview.rows[k].channels.travel.length);
}
const sags = model.preview(0, "hold.sag", [0.2, 0.3], ["pressure"], []);
assert.ok(sags.rows[0].metrics.pressure > sags.rows[1].metrics.pressure);
assert.throws(() => model.preview(0, "fork.spacers", [0], ["no_such"], []), /no_such: is no metric/);
assert.throws(() => model.preview(0, "fork.spacers", [NaN], [], []), ModelError);
assert.throws(() => model.curve(0, 1), /must be 2 to/);
assert.deepEqual(travel, kept);

// A figure for the page, with where its data stand; the numbers cross beside the question.
const curved = { x: curve.x, y: curve.slow, label: "slow", paint: { colour: 0 } };
const figure = { panels: [{ x_label: "travel [m]", series: [curved], references: [{ label: "sag", at: curve.sag, vertical: true }], x_ends: [0, 0.2] }] };
const picture = model.figure(figure, { width: 400, edge: 3 });
assert.equal(picture.width, 400);
assert.deepEqual(picture.panels[0].x, { low: 0, high: 0.2, logarithmic: false });
assert.ok(picture.panels[0].left > 3 && picture.panels[0].left + picture.panels[0].width < 400 && picture.panels[0].y.high > curve.slow[100]);
assert.match(picture.svg, /^<g [^]*<path class="colour-0" [^]*>slow<\/text>/);
assert.match(model.figure(figure, {}, true).svg, /^<\?xml[^]*width="900"/);
assert.throws(() => model.figure({ panels: [] }, {}), /needs a panel/);
assert.throws(() => model.figure(figure, { width: NaN }), ModelError);
// What was last ridden, as the program draws it.
const ridden = model.rideFigure([0, 1], ["A", "B"], "both", false, { width: 800 });
assert.ok(ridden.panels.length > 5 && ridden.svg.includes(">A</text>") && ridden.svg.includes(">B</text>"));
assert.throws(() => model.rideFigure([0, 9], ["A", "B"], "", false, {}), /9: holds nothing that has been ridden/);

// The scene's text loads to the same ride.
assert.deepEqual(model.load(2, model.sceneText(0)), []);
assert.deepEqual(model.ride(2).channels.travel, travel);

console.log("good");
