// The module as door_program.cpp is the program: node ask_model.mjs MODEL.mjs MODEL.wasm FOLDER < QUESTIONS.
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [script, wasm, folder] = process.argv.slice(2);
const { Model } = await import(pathToFileURL(script).href);
const model = await Model.start(await WebAssembly.compile(readFileSync(wasm)));
const questions = readFileSync(0, "utf8").split("\n").slice(0, -1);
const memory = [];
for (const [number, question] of questions.entries()) {
  const beside = `${folder}/${number}.given`;
  const bytes = existsSync(beside) ? readFileSync(beside) : new Uint8Array();
  const given = new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
  const { words, numbers } = model.cross(question, [given], given.length);
  writeFileSync(`${folder}/${number}.json`, words);
  writeFileSync(`${folder}/${number}.f64`, new Uint8Array(numbers.buffer, numbers.byteOffset, numbers.byteLength));
  memory.push(numbers.buffer.byteLength);
}
writeFileSync(`${folder}/memory.json`, JSON.stringify(memory));
